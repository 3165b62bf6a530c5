//! What is remembered of every vehicle of a garage, so that a list of them need not read their journals.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

use asfound_core::names::Tag;

use super::IndexFolder;
use super::codec::{Decoder, Encoder};
use super::decode::commit_id;
use super::encode::{VERSION, id_bytes};
use super::frames::{self, FramePosition, FrameReader};
use crate::store::CommitId;
use crate::{Digest, durable, garage_file};

/// What is remembered of every vehicle, under some name: a text each, that followed from the vehicle's journal up to
/// its tip and from nothing else but what `key` stands for.
#[derive(Debug)]
pub struct VehicleCache {
    path: Option<(PathBuf, String)>,
    head: Vec<u8>,
    lines: BTreeMap<Tag, (CommitId, String)>,
    is_other: bool,
}

impl VehicleCache {
    /// What is remembered under `name` (letters and `-`); nothing where it was made with another key, cannot be read or is
    /// damaged.
    pub fn open(folder: Option<&IndexFolder>, name: &str, key: Digest) -> Self {
        let head = format!("asfound-fleet/{VERSION} {name} {key}\n").into_bytes();
        // Tags hold no underscore, so that this is no vehicle's file.
        let path =
            folder.filter(|folder| folder.is_here()).map(|folder| (folder.path().to_owned(), format!("_{name}")));
        let lines =
            path.as_ref().and_then(|(folder, file)| read(garage_file::open_to_read(&folder.join(file)).ok()?, &head));
        let is_other = lines.is_none();
        Self { path, head, lines: lines.unwrap_or_default(), is_other }
    }

    /// What is remembered of a vehicle whose journal ends with `tip`.
    pub fn get(&self, tag: &Tag, tip: &CommitId) -> Option<&str> {
        self.lines.get(tag).filter(|(of, _)| of == tip).map(|(_, text)| text.as_str())
    }

    /// Remembers a text of a vehicle whose journal ends with `tip`.
    pub fn put(&mut self, tag: Tag, tip: CommitId, text: String) {
        self.lines.insert(tag, (tip, text));
        self.is_other = true;
    }

    /// Keeps what is remembered of the vehicles that there are, where that is something else than before. Nothing is said
    /// where that cannot be done.
    pub fn keep(mut self, is_there: impl Fn(&Tag) -> bool) {
        let before = self.lines.len();
        self.lines.retain(|tag, _| is_there(tag));
        if !self.is_other && self.lines.len() == before {
            return;
        }
        let Some((folder, file)) = self.path.take() else { return };
        IndexFolder::new(folder.clone()).make();
        let _ = durable::replace_file(&folder, &file, |to| self.write(BufWriter::new(to)));
    }

    fn write(&self, mut to: impl Write) -> std::io::Result<()> {
        to.write_all(&self.head)?;
        let mut mark = FramePosition::after_head(&self.head);
        for (tag, (tip, text)) in &self.lines {
            let mut out = Encoder::default();
            out.fixed(&id_bytes(tip.as_str()).unwrap_or_default());
            out.text(tag.as_str());
            out.text(text);
            mark = frames::write(&mut to, mark, &out.0)?;
        }
        to.flush()
    }
}

/// All lines; nothing where the file is another one.
fn read(file: File, head: &[u8]) -> Option<BTreeMap<Tag, (CommitId, String)>> {
    let mut frames = FrameReader::open(file, head)?;
    let mut lines = BTreeMap::new();
    while let Some(content) = frames.next() {
        let mut read = Decoder(content);
        let (tip, tag, text) = (commit_id(read.fixed()?)?, read.text()?.parse().ok()?, read.text()?.to_owned());
        lines.insert(tag, (tip, text));
    }
    Some(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tag(text: &str) -> Tag {
        text.parse().unwrap()
    }

    fn tip(digit: u8) -> CommitId {
        char::from(digit).to_string().repeat(40).parse().unwrap()
    }

    #[test]
    fn what_was_kept_is_remembered_for_the_same_tip_and_key() {
        let place = tempfile::tempdir().unwrap();
        let folder = IndexFolder::new(place.path().join("index"));
        let (key, other) = (Digest::of(b"a"), Digest::of(b"b"));
        let open = |key| VehicleCache::open(Some(&folder), "vehicles", key);
        let mut first = open(key);
        assert_eq!(first.get(&tag("wren"), &tip(b'1')), None);
        first.put(tag("wren"), tip(b'1'), "seven".to_owned());
        first.put(tag("rook"), tip(b'2'), "nine".to_owned());
        first.keep(|_| true);
        assert_eq!(open(key).get(&tag("wren"), &tip(b'1')), Some("seven"));
        assert_eq!(open(key).get(&tag("wren"), &tip(b'2')), None);
        assert_eq!(open(other).get(&tag("wren"), &tip(b'1')), None);
        assert_eq!(VehicleCache::open(None, "vehicles", key).get(&tag("wren"), &tip(b'1')), None);
        open(key).keep(|tag| tag.as_str() != "wren");
        assert_eq!(open(key).get(&tag("wren"), &tip(b'1')), None);
        assert_eq!(open(key).get(&tag("rook"), &tip(b'2')), Some("nine"));
    }

    #[test]
    fn damage_and_a_folder_that_cannot_be_made_only_forget() {
        let place = tempfile::tempdir().unwrap();
        let folder = IndexFolder::new(place.path().join("index"));
        let open = || VehicleCache::open(Some(&folder), "vehicles", Digest::of(b""));
        let mut first = open();
        first.put(tag("wren"), tip(b'1'), "seven".to_owned());
        first.keep(|_| true);
        let file = folder.path().join("_vehicles");
        let whole = std::fs::read(&file).unwrap();
        for at in 0..whole.len() {
            let mut other = whole.clone();
            other[at] ^= 4;
            std::fs::write(&file, &other).unwrap();
            assert_eq!(open().get(&tag("wren"), &tip(b'1')), None, "byte {at}");
            std::fs::write(&file, &whole[..at]).unwrap();
            assert_eq!(open().get(&tag("wren"), &tip(b'1')), None, "cut at {at}");
        }
        let nowhere = IndexFolder::new(place.path().join("missing/index"));
        let mut lost = VehicleCache::open(Some(&nowhere), "vehicles", Digest::of(b""));
        lost.put(tag("wren"), tip(b'1'), "seven".to_owned());
        lost.keep(|_| true);
        assert!(!nowhere.path().exists());
    }
}
