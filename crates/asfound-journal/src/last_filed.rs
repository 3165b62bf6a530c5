//! The last commit that was filed for each vehicle of a garage, remembered outside the garage.
//!
//! A folder that is synchronised, a copy that is restored or a program that rewrites branches can set a journal back without
//! a trace in it. What this program has acknowledged once is therefore noted elsewhere, so that it is seen when a journal was further
//! before. One small file a vehicle; nothing is synced: a note that lags behind is an older entry of the same journal.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use asfound_core::names::Tag;

use crate::store::CommitId;
use crate::{Digest, durable, garage_file};

/// No note comes near this.
const LARGEST: u64 = 1 << 12;
/// How many digits of the digest of a garage's path name its folder.
const DIGITS: usize = 16;

/// What was filed last in a garage. Clones share what was filed since it was opened.
#[derive(Debug, Clone, Default)]
pub struct LastFiled {
    folder: Option<PathBuf>,
    since_opened: Arc<Mutex<Run>>,
}

/// The two ends of a journal when something was filed in it last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FiledNote {
    /// The commit that was filed last.
    pub last: CommitId,
    /// The first commit of the journal, which tells it from another one of the same tag at the same place.
    pub first: CommitId,
}

/// What happened since the garage was opened.
#[derive(Debug, Default)]
struct Run {
    filed: BTreeSet<Tag>,
    removed_locks: BTreeSet<PathBuf>,
}

impl LastFiled {
    /// What is remembered below `state` of the garage at `garage`, whose path tells it from others.
    pub fn of_garage(state: &Path, garage: &Path) -> Self {
        let whole = garage.canonicalize().unwrap_or_else(|_| garage.to_owned());
        let name = Digest::of(whole.as_os_str().as_encoded_bytes()).to_string();
        Self { folder: Some(state.join("last-filed").join(&name[..DIGITS])), since_opened: Arc::default() }
    }

    /// What was filed last, where that is remembered.
    pub fn get(&self, tag: &Tag) -> Option<FiledNote> {
        let bytes = garage_file::read_at_most(&self.file(tag)?, LARGEST).ok()?;
        let (last, first) = std::str::from_utf8(&bytes).ok()?.trim_end().split_once('\n')?;
        Some(FiledNote { last: last.parse().ok()?, first: first.parse().ok()? })
    }

    /// Whether anything is remembered outside the garage.
    pub(crate) fn remembers(&self) -> bool {
        self.folder.is_some()
    }

    /// The file that this is remembered in.
    pub fn file(&self, tag: &Tag) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.join(tag.as_str()))
    }

    /// The vehicles of which something is remembered.
    pub fn tags(&self) -> BTreeSet<Tag> {
        let entries = self.folder.as_ref().and_then(|folder| fs::read_dir(folder).ok());
        entries.into_iter().flatten().flatten().filter_map(|entry| entry.file_name().to_str()?.parse().ok()).collect()
    }

    /// Forgets what was filed in a garage that is gone, in whose place another one was made; hands back its vehicles.
    pub fn forget(&self) -> BTreeSet<Tag> {
        let tags = self.tags();
        for file in tags.iter().filter_map(|tag| self.file(tag)) {
            // One that stays is told of when its vehicle is enrolled.
            let _ = fs::remove_file(file);
        }
        tags
    }

    /// The vehicles for which something was filed since the garage was opened.
    pub fn since_opened(&self) -> BTreeSet<Tag> {
        self.run().filed.clone()
    }

    /// The lock files of other programs that were removed because of their age since the garage was opened.
    pub fn removed_locks(&self) -> BTreeSet<PathBuf> {
        self.run().removed_locks.clone()
    }

    /// Takes note that something was filed.
    pub(crate) fn filed(&self, tag: &Tag) {
        self.run().filed.insert(tag.clone());
    }

    /// Remembers how a journal ends. Nothing is said where that cannot be done: the entry is filed.
    pub(crate) fn remember(&self, tag: &Tag, note: &FiledNote) {
        if let Some(folder) = &self.folder {
            let _ = fs::create_dir_all(folder);
            let text = format!("{}\n{}\n", note.last, note.first);
            let _ =
                durable::replace_file(folder, tag.as_str(), |file| std::io::Write::write_all(file, text.as_bytes()));
        }
    }

    pub(crate) fn note_removed_lock(&self, path: &Path) {
        self.run().removed_locks.insert(path.to_owned());
    }

    fn run(&self) -> MutexGuard<'_, Run> {
        // Every change is a single insertion, which a panic cannot leave half done.
        self.since_opened.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
