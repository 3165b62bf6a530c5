//! The store in a bare git repository.
//!
//! The only place that knows the git library; no type of it leaves this folder. Each journal is
//! the branch `refs/heads/<tag>`. How an entry is appended, and why so:
//!
//! 1. A kernel lock on a file of our own is held while writing ([`lock`]). The system
//!    releases it when the process dies, so a lock file of git's that is found under it, and
//!    is not fresh, was left by a killed process.
//! 2. Blobs, trees and the commit are made in memory, then written and synced together ([`fresh`], [`tree`]).
//!    The library's one-call commit is not used: on a full disk it can report success with
//!    nothing written, and it lets one of two new branches overwrite the other.
//! 3. The branch is moved by compare-and-set ([`tip`]), from nothing for a first entry, and
//!    read again before anybody is told that the entry is filed.

mod append;
mod bounds;
mod bulk;
mod create;
mod extra_refs;
mod further;
mod lock;
mod lock_timeouts;
mod loose;
mod next_tip;
mod object_error;
mod oddities;
mod packing;
mod packs;
mod pending;
mod read;
mod reader;
mod repository;
mod special_files;
mod staged_line;
mod stale;
mod sync;
mod tip;
mod tips;
mod transfer;
mod tree;
mod tree_text;
mod zlib;

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use asfound_core::names::Tag;

pub(crate) use bulk::JournalMove;
pub(crate) use extra_refs::KEPT;
pub use lock_timeouts::LockTimeouts;
pub use packing::{PackOutcome, PackProgress};
pub(crate) use pending::PendingObjects;
pub(crate) use staged_line::StagedLine;
pub use transfer::TransferRepository;

use self::lock::WriterLock;
use self::lock_timeouts::LockWait;
use self::reader::GitReader;
use self::repository::{HandlePool, OpenRepository};
use super::error;
use super::{BlobId, Commit, CommitId, NewCommit, Reader, RepositoryOddity, Store, StoreError};
use crate::garage_file;
use crate::index::IndexFolder;
use crate::last_filed::LastFiled;
use crate::sign::Signer;

/// The folders of a repository that are written into, besides those of loose objects.
const FOLDERS: [&str; 4] = ["objects", "objects/pack", "refs", "refs/heads"];

/// The journals of a garage, in a bare git repository.
///
/// Open one per thread; appending from several threads and processes at once is safe.
pub struct GitStore {
    /// Where the repository was said to be, which may be a link to it.
    given: PathBuf,
    repository: OpenRepository,
    readers: Arc<HandlePool>,
    /// The folder of our own lock files, one a vehicle.
    locks: PathBuf,
    timeouts: LockTimeouts,
    index: Option<IndexFolder>,
    /// What of the garage belongs to another account, and to which.
    foreign: Option<(PathBuf, u32)>,
    last_filed: LastFiled,
}

impl GitStore {
    /// Opens the repository at `repository`, with lock files in the folder `locks`.
    pub fn open(repository: &Path, locks: &Path, timeouts: LockTimeouts) -> Result<Self, StoreError> {
        // References take the setting when they are first looked at: it must come before.
        sync::sync_all_writes()?;
        Ok(Self::with(repository, OpenRepository::open(repository)?, locks, timeouts))
    }

    fn with(given: &Path, repository: OpenRepository, locks: &Path, timeouts: LockTimeouts) -> Self {
        let readers = Arc::default();
        Self {
            given: given.to_owned(),
            repository,
            readers,
            locks: locks.to_owned(),
            timeouts,
            index: None,
            foreign: None,
            last_filed: LastFiled::default(),
        }
    }

    /// The same store, of whose journals an index may be kept in this folder.
    #[must_use]
    pub fn with_index(mut self, folder: IndexFolder) -> Self {
        self.index = Some(folder);
        self
    }

    /// The same store, of a garage of which `path` belongs to another account: it is read, and not written.
    #[must_use]
    pub(crate) fn only_read(mut self, path: &Path, owner: u32) -> Self {
        self.foreign = Some((path.to_owned(), owner));
        self
    }

    /// The same store, which remembers outside the garage what it filed last.
    #[must_use]
    pub fn remembering(mut self, last_filed: LastFiled) -> Self {
        self.last_filed = last_filed;
        self
    }

    /// Takes one of our own locks; where anything stands in the way of writing here at all, that is told first.
    fn writer_lock(&self, name: &str, what: &str, waiting: &mut LockWait) -> Result<WriterLock, StoreError> {
        self.check_writable()?;
        WriterLock::take(&self.locks, name, what, waiting)
    }

    fn check_writable(&self) -> Result<(), StoreError> {
        if let Some((path, owner)) = &self.foreign {
            return Err(StoreError::Foreign { path: path.clone(), owner: *owner });
        }
        let folders = FOLDERS.map(|folder| self.given.join(folder));
        for folder in [self.given.clone()].into_iter().chain(folders) {
            garage_file::check_folder(&folder).map_err(error::disk("write below", &folder))?;
        }
        Ok(())
    }

    /// Lets go of what was read so far, for whoever has read much and goes on with something else.
    pub fn let_go(&self) {
        self.repository.let_go();
    }

    /// Makes an empty repository at `repository`, unless there is one, and opens it.
    ///
    /// It is made all at once: after a crash there is either none, or a whole one.
    pub fn create(repository: &Path, locks: &Path, timeouts: LockTimeouts) -> Result<Self, StoreError> {
        sync::sync_all_writes()?;
        {
            let mut waiting = LockWait::start(timeouts);
            // Tags hold no underscore, so that this is no vehicle's lock.
            let _lock = WriterLock::take(locks, "_garage", "the garage", &mut waiting)?;
            create::create(repository)?;
        }
        Self::open(repository, locks, timeouts)
    }
}

impl fmt::Debug for GitStore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("GitStore").field("repository", &self.repository.path()).finish_non_exhaustive()
    }
}

impl Store for GitStore {
    fn tags(&self) -> Result<Vec<Tag>, StoreError> {
        tip::tags(&self.repository.get())
    }

    fn tip(&self, tag: &Tag) -> Result<Option<CommitId>, StoreError> {
        Ok(tip::tip(&self.repository, tag)?.map(read::commit_id))
    }

    fn tips(&self) -> Result<BTreeMap<Tag, CommitId>, StoreError> {
        let (mut tips, unclear) = tips::tips(self.repository.path())?;
        for tag in unclear {
            match self.tip(&tag)? {
                Some(tip) => drop(tips.insert(tag, tip)),
                None => drop(tips.remove(&tag)),
            }
        }
        Ok(tips)
    }

    fn parent(&self, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
        read::parent(&*self.repository.for_reading()?, id)
    }

    fn index(&self) -> Option<&IndexFolder> {
        self.index.as_ref()
    }

    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError> {
        read::commit(&*self.repository.for_reading()?, id)
    }

    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        read::commit_text(&*self.repository.for_reading()?, id)
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        read::blob(&*self.repository.for_reading()?, read::oid(blob.as_str()))
    }

    fn file(&self, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError> {
        read::file(&*self.repository.for_reading()?, commit, path)
    }

    fn line(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        self.tip(tag)?.map_or_else(|| Ok(Vec::new()), |tip| self.line_to(&tip))
    }

    fn kept(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        let kept = if self.may_keep(tag)? { self.references_below(&format!("{KEPT}{tag}/"))? } else { BTreeMap::new() };
        Ok(kept.into_values().collect())
    }

    fn oddities(&self) -> Result<Vec<RepositoryOddity>, StoreError> {
        oddities::oddities(&self.repository.get())
    }

    fn reader(&self) -> Result<Box<dyn Reader>, StoreError> {
        // A pack stays mapped as long as any handle has looked into it.
        self.repository.let_go();
        self.repository.check()?;
        Ok(Box::new(GitReader::open(self.repository.path(), &self.readers)?))
    }

    fn append_all(
        &self,
        tag: &Tag,
        expected: Option<&CommitId>,
        new: &[NewCommit],
        signer: Option<&dyn Signer>,
    ) -> Result<Vec<CommitId>, StoreError> {
        append::append(self, tag, expected, new, signer)
    }
}
