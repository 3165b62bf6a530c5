//! Reads much of a store in a row.

use std::collections::BTreeMap;

use super::{BlobId, CommitId, StoreError, TreeId};

/// What one listing has otherwise than another, by path: a blob, or nothing where the file is gone.
pub type Changes = BTreeMap<String, Option<BlobId>>;

/// A handle of its own for whoever reads a journal from end to end, which may go to another thread.
///
/// It reads what was in the store when it was opened. Everything is held against its id, as by the store itself.
pub trait Reader: Send {
    /// A commit to the letter: the content of its object in git's form (tree, parents, author, committer, whatever
    /// else its head says, an empty line, the message), of which [`Commit`](super::Commit) is only a part.
    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError>;

    /// What the listing of a commit has otherwise than that of another: each path with its blob, or with nothing where it is
    /// gone. Without another, every file. Folders that both have alike are not looked into. The ids are those that the
    /// texts of the commits name.
    fn changes(&self, before: Option<&TreeId>, listing: &TreeId) -> Result<Changes, StoreError>;

    /// The contents of a file by its blob.
    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError>;
}
