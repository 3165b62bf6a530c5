//! Where journals lie: one line of commits a vehicle, appended to and never rewritten.
//!
//! [`Store`] is the storage of a garage on plain types. [`GitStore`] keeps it in a bare
//! git repository that ordinary git commands can read; [`MemoryStore`] behaves the
//! same without a disk, for tests. What both promise:
//!
//! * Appending is a compare-and-set: it names the tip that the new commit was made for,
//!   and fails with [`StoreError::Moved`] when another was appended meanwhile.
//! * A commit whose id was handed back is in the line for good; for the git store also after
//!   a power cut. After an error nothing was appended, unless the error says so.
//! * Of the parents of a commit only the first counts.

mod author;
mod commit;
mod error;
mod git;
mod ids;
mod memory;
mod new_commit;
mod reader;

use asfound_core::names::Tag;

use crate::sign::Signer;

pub use author::{Author, AuthorError};
pub use commit::Commit;
pub(crate) use error::disk_hint;
pub use error::{Holder, StoreError};
pub use git::{GitStore, Patience};
pub use ids::{BlobId, CommitId, IdError, TreeId};
pub use memory::MemoryStore;
pub use new_commit::{FileContent, Files, NewCommit, UnfitCommit};
pub use reader::{Changes, Reader};

/// The storage of a garage's journals.
pub trait Store {
    /// The vehicles that have a journal, sorted by tag.
    fn tags(&self) -> Result<Vec<Tag>, StoreError>;

    /// The newest commit of a vehicle's journal, or nothing where it has none.
    fn tip(&self, tag: &Tag) -> Result<Option<CommitId>, StoreError>;

    /// One commit, with the listing of its files.
    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError>;

    /// The whole text of a commit, as it is hashed and signed.
    ///
    /// The text is in git's form; for the git store it is git's own.
    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError>;

    /// The contents of a file by its blob.
    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError>;

    /// The contents of one file of a commit, without listing the others.
    fn file(&self, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError>;

    /// The whole journal of a vehicle, oldest first; empty where it has none.
    fn line(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError>;

    /// A handle for reading much in a row.
    fn reader(&self) -> Result<Box<dyn Reader>, StoreError>;

    /// Appends a commit to a vehicle's journal, if its tip is still `expected`.
    ///
    /// `expected` is nothing for the first commit of a new journal. The id that is
    /// handed back says that the commit is in the journal.
    fn append(&self, tag: &Tag, expected: Option<&CommitId>, new: &NewCommit) -> Result<CommitId, StoreError> {
        self.append_signed(tag, expected, new, None)
    }

    /// As [`Store::append`], with a signature where there is a signer.
    ///
    /// Nothing is appended when it does not sign. The journal may stay locked for as long as the signer takes.
    fn append_signed(
        &self,
        tag: &Tag,
        expected: Option<&CommitId>,
        new: &NewCommit,
        signer: Option<&dyn Signer>,
    ) -> Result<CommitId, StoreError> {
        let ids = self.append_all(tag, expected, std::slice::from_ref(new), signer)?;
        Ok(ids.into_iter().next().expect("as many ids are handed back as there were commits"))
    }

    /// As [`Store::append_signed`], with several commits one after the other: all of them or none, in one move of the tip.
    ///
    /// What a commit keeps must be in the commit that was the tip. The ids are handed back in the order of the commits.
    fn append_all(
        &self,
        tag: &Tag,
        expected: Option<&CommitId>,
        new: &[NewCommit],
        signer: Option<&dyn Signer>,
    ) -> Result<Vec<CommitId>, StoreError>;
}
