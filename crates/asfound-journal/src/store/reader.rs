//! Reads much of a store in a row.

use std::collections::BTreeMap;

use super::{BlobId, CommitId, StoreError};

/// The files of a commit that differ from those of another, by path: a blob, or nothing where the file is gone.
pub type Changes = BTreeMap<String, Option<BlobId>>;

/// A handle of its own for whoever reads a journal from end to end, which may go to another thread.
///
/// It reads what was in the store when it was opened. Everything is held against its id, as by the store itself.
pub trait Reader: Send {
    /// A commit to the letter: the content of its object in git's form (tree, parents, author, committer, whatever
    /// else its head says, an empty line, the message), of which [`Commit`](super::Commit) is only a part.
    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError>;

    /// What a commit's listing has otherwise than that of another: each path with its blob, or with nothing where it is gone.
    /// Without another, every file. Folders that both have alike are not looked into.
    fn changes(&self, before: Option<&CommitId>, id: &CommitId) -> Result<Changes, StoreError>;

    /// The contents of a file by its blob.
    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError>;
}
