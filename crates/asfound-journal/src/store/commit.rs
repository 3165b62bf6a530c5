//! A commit as it is read.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::{Author, BlobId, CommitId};

/// One commit of a journal, with the listing of its files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Commit {
    /// Its id.
    pub id: CommitId,
    /// The commit before it, or nothing for the first of a journal.
    pub parent: Option<CommitId>,
    /// Who made it.
    pub author: Author,
    /// When it was filed, to the second, in the offset of whoever filed it.
    pub committed: OffsetDateTime,
    /// The message, to the letter.
    pub message: String,
    /// Its files by path. Paths are text here, because a commit that another program wrote may hold
    /// any, `..` among them: none may be written to disk before it was parsed as a
    /// [`FilePath`](crate::FilePath).
    pub files: BTreeMap<String, BlobId>,
}
