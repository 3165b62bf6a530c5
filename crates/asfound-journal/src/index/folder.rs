//! Where the index lies.

use std::collections::BTreeSet;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use asfound_core::names::Tag;

use crate::garage_file;

/// The folder that the index of a garage lies in. It need not be there, and may be deleted at any time.
///
/// Clones share what was found out about the files in it.
#[derive(Debug, Clone)]
pub struct IndexFolder {
    path: PathBuf,
    findings: Arc<Mutex<Findings>>,
}

#[derive(Debug, Default)]
struct Findings {
    /// The vehicles whose file did not agree with the journal.
    disagreed: BTreeSet<Tag>,
    /// Those whose file was to be thrown away and could not be: it is not read again.
    undeletable: BTreeSet<Tag>,
}

impl IndexFolder {
    /// The folder at `path`.
    pub fn new(path: PathBuf) -> Self {
        Self { path, findings: Arc::default() }
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The file of one vehicle.
    pub fn file(&self, tag: &Tag) -> PathBuf {
        self.path.join(tag.as_str())
    }

    /// The vehicles whose index did not agree with their journal since the garage was opened. Each was thrown away.
    pub fn disagreed(&self) -> Vec<Tag> {
        self.findings().disagreed.iter().cloned().collect()
    }

    /// The file of one vehicle, unless it is not to be read.
    pub(super) fn readable(&self, tag: &Tag) -> Option<PathBuf> {
        (self.is_here() && !self.findings().undeletable.contains(tag)).then(|| self.file(tag))
    }

    /// Whether the folder, where there is one, lies in the garage: a link to one is not used.
    pub(super) fn is_here(&self) -> bool {
        garage_file::check_folder(&self.path).is_ok()
    }

    /// Throws the file of a vehicle away, and what is remembered of all vehicles, which may come from it.
    pub(crate) fn throw_away(&self, tag: &Tag) {
        if !self.is_here() {
            self.findings().undeletable.insert(tag.clone());
            return;
        }
        if let Err(error) = fs::remove_file(self.file(tag))
            && error.kind() != ErrorKind::NotFound
        {
            self.findings().undeletable.insert(tag.clone());
        }
        for entry in fs::read_dir(&self.path).into_iter().flatten().flatten() {
            // Tags hold no underscore.
            if entry.file_name().as_encoded_bytes().starts_with(b"_") {
                let _ = fs::remove_file(entry.path());
            }
        }
    }

    /// Notes that the index of a vehicle, which was thrown away, did not agree with the journal.
    pub(crate) fn note_disagreement(&self, tag: &Tag) {
        self.findings().disagreed.insert(tag.clone());
    }

    /// Makes the folder unless it is there. Where that fails, so will the writing of what goes in it.
    pub(super) fn make(&self) {
        let _ = fs::create_dir(&self.path);
    }

    fn findings(&self) -> MutexGuard<'_, Findings> {
        // Nothing is left half done by a panic: every change is a single insertion.
        self.findings.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
