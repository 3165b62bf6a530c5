//! Where the index lies.

use std::path::{Path, PathBuf};

use asfound_core::names::Tag;

/// The folder that the index of a garage lies in. It need not be there, and may be deleted at any time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IndexFolder(PathBuf);

impl IndexFolder {
    /// The folder at `path`.
    pub fn new(path: PathBuf) -> Self {
        Self(path)
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// The file of one vehicle.
    pub fn file(&self, tag: &Tag) -> PathBuf {
        self.0.join(tag.as_str())
    }

    /// Makes the folder unless it is there. Where that fails, so will the writing of what goes in it.
    pub(super) fn make(&self) {
        let _ = std::fs::create_dir(&self.0);
    }
}
