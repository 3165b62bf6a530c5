//! The index of one vehicle: its entries, in their order.

use std::collections::HashMap;
use std::fs::File;
use std::io::{BufWriter, Seek, SeekFrom, Write};
use std::path::Path;

use asfound_core::entry::{Entry, IdentityEffect};
use asfound_core::history::OneSetting;
use asfound_core::names::Tag;

use super::IndexFolder;
use super::decode::{commit_id, commit_of, decode, decode_part, identities};
use super::encode::{VERSION, encode, id_bytes};
use super::frames::{self, FramePosition, FrameReader};
use crate::Digest;
use crate::garage_file;
use crate::journal::{EntryIndex, FiledEntry, Journal, JournalError};
use crate::store::{CommitId, Store};

/// How much is written at once.
const BUFFER: usize = 1 << 16;

/// Up to where a vehicle's file goes, and that this is the end of its journal, as far as it was known.
#[derive(Debug, Clone, Copy)]
pub(crate) struct IndexEnd(FramePosition);

/// The head of a vehicle's file. Another version of this program, or the file of another vehicle, has another one.
pub(super) fn head(tag: &Tag) -> Vec<u8> {
    format!("asfound-index/{VERSION} {tag}\n").into_bytes()
}

/// Which entries there are up to `tip`.
pub(crate) fn index<S: Store>(journal: &Journal<'_, S>, tip: &CommitId) -> Result<EntryIndex, JournalError> {
    let some = |identities: Vec<IdentityEffect>| Some(identities).filter(|identities| !identities.is_empty());
    let of_entry = |filed: &FiledEntry| Some(filed.entry.body.effects()?.identities.clone()).and_then(some);
    let KnownJournal { commits, kept, place, indexed } =
        read(journal, tip, |content| identities(content).map(some), of_entry)?;
    Ok(EntryIndex { commits, identities: kept.into_iter().flatten().collect(), place, indexed })
}

/// The entries of these commits, which are the journal's from the first on: from its file as far as that has them, the
/// others from the journal.
pub(crate) fn each<'r, 's, S: Store>(
    journal: &'r Journal<'s, S>,
    commits: &'r [[u8; 20]],
) -> impl Iterator<Item = Result<FiledEntry, JournalError>> + use<'r, 's, S> {
    let file =
        journal.store.index().and_then(|folder| garage_file::open_to_read(&folder.readable(journal.tag())?).ok());
    let mut frames = file.and_then(|file| FrameReader::open(file, &head(journal.tag())));
    let mut peaks = Vec::new();
    commits.iter().map(move |commit| {
        if let Some(open) = &mut frames {
            let content = open.next().filter(|content| commit_of(content) == Some(*commit));
            if let Some(filed) = content.and_then(|content| decode(content, &mut peaks)) {
                return Ok(filed);
            }
        }
        // It was cut off, deleted or written anew since: what follows in it is no longer known to be the next.
        frames = None;
        let commit = commit_id(*commit).ok_or_else(|| JournalError::Unfit("an id is not well formed".to_owned()))?;
        journal.entry_at(&commit)
    })
}

/// The parts of all entries up to `tip` that bear on one setting.
pub(crate) fn parts_of<S: Store>(
    journal: &Journal<'_, S>,
    tip: &CommitId,
    one: &OneSetting,
) -> Result<Vec<Entry>, JournalError> {
    Ok(read(journal, tip, |content| decode_part(content, one), |filed| one.part_of(&filed.entry))?.kept)
}

/// Adds entries that were filed behind the one that the file ends with. Where that cannot be done, the next who reads does.
pub(crate) fn extend(folder: &IndexFolder, tag: &Tag, place: IndexEnd, before: &[Digest], filed: &[FiledEntry]) {
    let IndexEnd(mark) = place;
    let Some(mut writer) = Writer::open(&folder.file(tag), mark.length, mark) else { return };
    let mut peaks = before.to_vec();
    let _ = filed.iter().all(|filed| writer.add(filed, &mut peaks));
}

/// What was read of a file: of each frame the commit, and where it ends; and what is kept of them.
struct FramesRead<T> {
    frames: Vec<([u8; 20], FramePosition)>,
    /// What is kept, each with the number of its frame.
    kept: Vec<(usize, T)>,
    head: FramePosition,
    /// How long the file was, whole frames or not; nothing where there is none.
    length: Option<u64>,
}

impl<T> FramesRead<T> {
    /// Reads a file as far as it can be believed.
    fn read(path: &Path, head: &[u8], mut decode: impl FnMut(&[u8]) -> Option<Option<T>>) -> Self {
        let mut found =
            Self { frames: Vec::new(), kept: Vec::new(), head: FramePosition::after_head(head), length: None };
        let Ok(file) = garage_file::open_to_read(path) else { return found };
        found.length = file.metadata().ok().map(|metadata| metadata.len());
        let Some(mut frames) = FrameReader::open(file, head) else { return found };
        // Most frames take more; where they do not, there is more room made.
        found.frames.reserve(usize::try_from(found.length.unwrap_or(0) / 256).unwrap_or(0));
        while let Some(content) = frames.next() {
            let Some(commit) = commit_of(content) else { break };
            // Most keep nothing, and an entry is too large to be moved about for that.
            match decode(content) {
                None => break,
                Some(None) => {}
                Some(Some(kept)) => found.kept.push((found.frames.len(), kept)),
            }
            found.frames.push((commit, frames.mark()));
        }
        found
    }

    /// Where the file ends, where that is with `tip` and nothing lies behind it.
    fn ends_with(&self, tip: &CommitId) -> Option<IndexEnd> {
        let (commit, mark) = self.frames.last()?;
        (Some(*commit) == id_bytes(tip.as_str()) && self.length == Some(mark.length)).then_some(IndexEnd(*mark))
    }

    /// Drops what comes behind so many frames, and says where that is.
    fn truncate(&mut self, frames: usize) -> FramePosition {
        self.frames.truncate(frames);
        while self.kept.last().is_some_and(|(frame, _)| *frame >= frames) {
            self.kept.pop();
        }
        self.frames.last().map_or(self.head, |(_, mark)| *mark)
    }
}

/// What is known of a journal up to its tip.
struct KnownJournal<T> {
    commits: Vec<[u8; 20]>,
    kept: Vec<T>,
    /// Where its file ends, where that is up to the tip.
    place: Option<IndexEnd>,
    /// How many entries, from the first on, the file had already.
    indexed: usize,
}

/// Reads a vehicle's file as far as it goes with the journal, and the rest from the journal, which is then added to the
/// file where that can be done.
fn read<S: Store, T>(
    journal: &Journal<'_, S>,
    tip: &CommitId,
    decode: impl FnMut(&[u8]) -> Option<Option<T>>,
    keep: impl Fn(&FiledEntry) -> Option<T>,
) -> Result<KnownJournal<T>, JournalError> {
    let (folder, tag) = (journal.store.index(), journal.tag());
    let head = head(tag);
    let path = folder.and_then(|folder| folder.readable(tag));
    let mut found = FramesRead::read(path.as_deref().unwrap_or(Path::new("")), &head, decode);
    if let Some(place) = found.ends_with(tip) {
        let commits = found.frames.iter().map(|(commit, _)| *commit).collect();
        let kept = found.kept.into_iter().map(|(_, kept)| kept).collect();
        let indexed = found.frames.len();
        return Ok(KnownJournal { commits, kept, place: Some(place), indexed });
    }

    // From the tip back to an entry that the file has; to the first where it has none of them.
    let known: HashMap<[u8; 20], usize> = found.frames.iter().map(|(commit, _)| *commit).zip(1..).collect();
    let (mut missing, mut next, mut common) = (Vec::new(), Some(tip.clone()), None);
    while let Some(id) = next {
        if let Some(frames) = id_bytes(id.as_str()).and_then(|bytes| known.get(&bytes)) {
            common = Some((*frames, id));
            break;
        }
        next = journal.store.parent(&id)?;
        missing.push(id);
    }
    drop(known);
    let mark = found.truncate(common.as_ref().map_or(0, |(frames, _)| *frames));
    let mut peaks = match &common {
        Some((_, id)) => journal.entry_at(id)?.chain.peaks,
        None => Vec::new(),
    };

    let mut writer = folder.zip(path).and_then(|(folder, path)| match found.length {
        Some(length) if mark.length > found.head.length => Writer::open(&path, length, mark),
        length => Writer::begin(folder, &path, length, &head),
    });
    let mut commits: Vec<[u8; 20]> = found.frames.iter().map(|(commit, _)| *commit).collect();
    let indexed = commits.len();
    let mut kept: Vec<T> = found.kept.into_iter().map(|(_, kept)| kept).collect();
    for id in missing.iter().rev() {
        commits.extend(id_bytes(id.as_str()));
        let filed = journal.entry_at(id)?;
        kept.extend(keep(&filed));
        writer = writer.and_then(|mut writer| writer.add(&filed, &mut peaks).then_some(writer));
    }
    Ok(KnownJournal { commits, kept, place: writer.and_then(Writer::finish).map(IndexEnd), indexed })
}

/// Adds to a vehicle's file, of which it holds the lock.
struct Writer {
    to: BufWriter<File>,
    at: FramePosition,
}

impl Writer {
    /// Goes on behind `at`, where the file is still as long as it was when it was read.
    fn open(path: &Path, length: u64, at: FramePosition) -> Option<Self> {
        let mut file = garage_file::open_to_write(path, false).ok()?;
        // Whoever does not get the lock leaves it to the one who has it.
        file.try_lock().ok()?;
        if file.metadata().ok()?.len() != length {
            return None;
        }
        if length != at.length {
            file.set_len(at.length).ok()?;
        }
        file.seek(SeekFrom::Start(at.length)).ok()?;
        Some(Self { to: BufWriter::with_capacity(BUFFER, file), at })
    }

    /// Begins the file, in place of one that was `length` long.
    fn begin(folder: &IndexFolder, path: &Path, length: Option<u64>, head: &[u8]) -> Option<Self> {
        folder.make();
        let mut file = garage_file::open_to_write(path, true).ok()?;
        file.try_lock().ok()?;
        if file.metadata().ok()?.len() != length.unwrap_or(0) {
            return None;
        }
        file.set_len(0).ok()?;
        file.write_all(head).ok()?;
        Some(Self { to: BufWriter::with_capacity(BUFFER, file), at: FramePosition::after_head(head) })
    }

    /// Adds an entry; `peaks` are those of the entry before.
    fn add(&mut self, filed: &FiledEntry, peaks: &mut Vec<Digest>) -> bool {
        let written = encode(filed, peaks).and_then(|content| frames::write(&mut self.to, self.at, &content).ok());
        written.is_some_and(|at| {
            self.at = at;
            true
        })
    }

    /// Where the file ends, once everything is written.
    fn finish(mut self) -> Option<FramePosition> {
        self.to.flush().ok().map(|()| self.at)
    }
}
