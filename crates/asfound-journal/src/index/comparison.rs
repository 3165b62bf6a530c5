//! Holds the index of a vehicle against the entries of its journal.

use std::collections::HashSet;
use std::fs::File;

use asfound_core::names::{EntryNumber, Tag};

use super::IndexFolder;
use super::decode::commit_of;
use super::encode::{encode, id_bytes};
use super::frames::FrameReader;
use super::vehicle::head;
use crate::Digest;
use crate::garage_file;
use crate::journal::FiledEntry;
use crate::store::CommitId;

/// The index of a vehicle, held against the entries of its journal one after the other.
///
/// What is not whole, or belongs to a line that the journal has left, is no disagreement: it is not believed anyway.
pub(crate) struct IndexComparison {
    /// What is left of it; nothing once it ends, strays, or an entry of the journal cannot be read.
    frames: Option<FrameReader<File>>,
    peaks: Vec<Digest>,
    /// The first entry in whose place it has another commit, and the commits that it has from there on.
    astray: Option<(EntryNumber, HashSet<[u8; 20]>)>,
    /// The first entry of which it says something else.
    differs: Option<EntryNumber>,
}

impl IndexComparison {
    /// At the beginning; of nothing where there is no index.
    pub(crate) fn begin(folder: Option<&IndexFolder>, tag: &Tag) -> Self {
        let file = folder.and_then(|folder| garage_file::open_to_read(&folder.readable(tag)?).ok());
        let frames = file.and_then(|file| FrameReader::open(file, &head(tag)));
        Self { frames, peaks: Vec::new(), astray: None, differs: None }
    }

    /// Goes on to the next entry: its commit, its number, and what it says, where that can be read.
    pub(crate) fn entry(&mut self, commit: &CommitId, number: EntryNumber, filed: Option<&FiledEntry>) {
        let Some(id) = id_bytes(commit.as_str()) else { return };
        if let Some((first, commits)) = &self.astray
            && commits.contains(&id)
        {
            // It is believed up to here, so that what it has before counts.
            self.differs = self.differs.or(Some(*first));
        }
        let Some(frames) = &mut self.frames else { return };
        let Some(content) = frames.next() else {
            self.frames = None;
            return;
        };
        match commit_of(content) {
            Some(found) if found == id => {
                let wanted = filed.and_then(|filed| encode(filed, &mut self.peaks));
                if wanted.as_deref() == Some(content) {
                    return;
                }
                // Without the entry nobody can say.
                self.differs = wanted.map(|_| number);
            }
            found => {
                let mut commits: HashSet<[u8; 20]> = found.into_iter().collect();
                while let Some(content) = frames.next() {
                    commits.extend(commit_of(content));
                }
                self.differs = commits.contains(&id).then_some(number);
                self.astray = Some((number, commits));
            }
        }
        self.frames = None;
    }

    /// The first entry of which the index says something else than the journal; nothing where there is none.
    pub(crate) fn differs(&self) -> Option<EntryNumber> {
        self.differs
    }
}
