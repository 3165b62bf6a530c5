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
mod oddity;
mod reader;

use std::collections::BTreeMap;

use asfound_core::names::Tag;

use crate::index::IndexFolder;
use crate::sign::Signer;

pub use author::{Author, AuthorError};
pub use commit::Commit;
pub use error::{Holder, StoreError};
pub(crate) use error::{LOCK, disk_hint};
pub use git::{GitStore, LockTimeouts, PackOutcome, PackProgress, TransferRepository};
pub(crate) use git::{JournalMove, KEPT, PendingObjects, StagedLine};
pub use ids::{BlobId, CommitId, IdError, TreeId};
pub use memory::MemoryStore;
pub use new_commit::{FileContent, Files, NewCommit, UnfitCommit};
pub use oddity::RepositoryOddity;
pub use reader::{Changes, Reader};

/// The storage of a garage's journals.
pub trait Store {
    /// The vehicles that have a journal, sorted by tag.
    fn tags(&self) -> Result<Vec<Tag>, StoreError>;

    /// The newest commit of a vehicle's journal, or nothing where it has none.
    fn tip(&self, tag: &Tag) -> Result<Option<CommitId>, StoreError>;

    /// The newest commit of every journal, by tag. Other than [`Store::tip`] it may leave open whether the commits are there.
    fn tips(&self) -> Result<BTreeMap<Tag, CommitId>, StoreError> {
        let tip = |tag: Tag| Ok(self.tip(&tag)?.map(|tip| (tag, tip)));
        self.tags()?.into_iter().filter_map(|tag| tip(tag).transpose()).collect()
    }

    /// The commit before this one; nothing for the first of a journal.
    fn parent(&self, id: &CommitId) -> Result<Option<CommitId>, StoreError>;

    /// Where an index of the journals may be kept, if anywhere.
    fn index(&self) -> Option<&IndexFolder> {
        None
    }

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

    /// The line that ends with a commit, oldest first.
    fn line_to(&self, tip: &CommitId) -> Result<Vec<CommitId>, StoreError> {
        let (mut line, mut next) = (Vec::new(), Some(tip.clone()));
        while let Some(id) = next {
            next = self.parent(&id)?;
            line.push(id);
        }
        line.reverse();
        Ok(line)
    }

    /// The ends of the lines that are kept beside the journal of a vehicle, because it went on in another way when what two
    /// benches had filed apart was brought together.
    fn kept(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        let _ = tag;
        Ok(Vec::new())
    }

    /// What makes git read another history than was written, where the journals lie in a repository of it.
    fn oddities(&self) -> Result<Vec<RepositoryOddity>, StoreError> {
        Ok(Vec::new())
    }

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
