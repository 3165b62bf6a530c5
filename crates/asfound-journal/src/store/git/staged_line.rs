//! A line of entries that is being put together beside the journal, which does not show it yet.

use std::cell::RefCell;

use asfound_core::names::Tag;

use super::pending::PendingObjects;
use super::{GitStore, append, next_tip, read, tip};
use crate::sign::Signer;
use crate::store::{BlobId, Commit, CommitId, NewCommit, Reader, Store, StoreError};

/// One vehicle's line in a store, with a tip of its own: appending makes commits in memory and moves nothing but that tip.
pub(crate) struct StagedLine<'s> {
    store: &'s GitStore,
    fresh: &'s RefCell<PendingObjects>,
    tag: Tag,
    tip: RefCell<Option<CommitId>>,
}

impl<'s> StagedLine<'s> {
    /// The line that ends with `tip`, which is in the store, with what is appended to it in `fresh`.
    pub(crate) fn new(
        store: &'s GitStore,
        fresh: &'s RefCell<PendingObjects>,
        tag: &Tag,
        tip: Option<CommitId>,
    ) -> Self {
        Self { store, fresh, tag: tag.clone(), tip: RefCell::new(tip) }
    }

    /// Writes what was appended. When this returns, it lasts, and the store has it.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn write(&self) -> Result<(), StoreError> {
        self.fresh.borrow().write_loose(&*self.store.repository.for_reading()?, None)
    }

    fn here(&self, tag: &Tag) -> Option<CommitId> {
        if *tag == self.tag { self.tip.borrow().clone() } else { None }
    }
}

impl Store for StagedLine<'_> {
    fn tags(&self) -> Result<Vec<Tag>, StoreError> {
        Ok(self.tip.borrow().iter().map(|_| self.tag.clone()).collect())
    }

    fn tip(&self, tag: &Tag) -> Result<Option<CommitId>, StoreError> {
        Ok(self.here(tag))
    }

    fn parent(&self, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
        match self.fresh.borrow().commit(id) {
            Some(commit) => Ok(commit.parent.clone()),
            None => self.store.parent(id),
        }
    }

    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError> {
        match self.fresh.borrow().commit(id) {
            Some(commit) => Ok(commit.clone()),
            None => self.store.commit(id),
        }
    }

    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        match self.fresh.borrow().commit_text(id) {
            Some(text) => Ok(text.to_vec()),
            None => self.store.commit_text(id),
        }
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        match self.fresh.borrow().blob(blob) {
            Some(content) => Ok(content.to_vec()),
            None => Store::read(self.store, blob),
        }
    }

    fn file(&self, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError> {
        let blob = match self.fresh.borrow().commit(commit) {
            Some(commit) => commit.files.get(path).cloned(),
            None => return self.store.file(commit, path),
        };
        blob.map_or_else(
            || Err(StoreError::NoSuchFile { commit: commit.clone(), path: path.to_owned() }),
            |blob| self.read(&blob),
        )
    }

    fn line(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        self.here(tag).map_or(Ok(Vec::new()), |tip| self.line_to(&tip))
    }

    fn kept(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        self.store.kept(tag)
    }

    /// Of the store: what was appended has to be written before it is read so.
    fn reader(&self) -> Result<Box<dyn Reader>, StoreError> {
        self.store.reader()
    }

    fn append_all(
        &self,
        tag: &Tag,
        expected: Option<&CommitId>,
        new: &[NewCommit],
        signer: Option<&dyn Signer>,
    ) -> Result<Vec<CommitId>, StoreError> {
        let found = self.here(tag);
        if found.as_ref() != expected {
            return Err(StoreError::Moved { tag: tag.clone(), expected: expected.cloned(), found });
        }
        let before = expected.map(|id| read::oid(id.as_str()));
        let repository = self.store.repository.for_reading()?;
        let ids = append::make(&repository, &mut self.fresh.borrow_mut(), tag, before, new, signer)?;
        let ids: Vec<CommitId> = ids.into_iter().map(read::commit_id).collect();
        if let Some(last) = ids.last() {
            *self.tip.borrow_mut() = Some(last.clone());
        }
        Ok(ids)
    }
}

impl GitStore {
    /// Has the journal of `tag` end with `new` in place of `expected`, with the line that ended there kept where `new` does
    /// not follow it.
    ///
    /// # Errors
    /// Where the journal has moved on, or cannot be written: it is then as it was.
    pub(crate) fn move_branch(&self, tag: &Tag, expected: Option<&CommitId>, new: &CommitId) -> Result<(), StoreError> {
        let (before, after) = (expected.map(|id| read::oid(id.as_str())), read::oid(new.as_str()));
        let mut waiting = super::lock_timeouts::LockWait::start(self.timeouts);
        let what = format!("the journal of `{tag}`");
        let _lock = self.writer_lock(tag.as_str(), &what, &mut waiting)?;
        let found = tip::tip(&self.repository, tag)?;
        if found != before {
            return Err(tip::moved(tag, before, found));
        }
        if let Some(before) = expected
            && !self.follows(before, new)?
        {
            self.keep(tag, before)?;
        }
        self.check_not_set_back(tag, Some(new))?;
        next_tip::advance(self, tag, before, after, &mut waiting)
    }
}
