//! A line of entries that is being put together beside the journal, which does not show it yet.

use std::cell::RefCell;

use asfound_core::names::Tag;

use super::{GitStore, append, read, tip};
use crate::sign::Signer;
use crate::store::{BlobId, Commit, CommitId, NewCommit, Reader, Store, StoreError};

/// One vehicle's line in a store, with a tip of its own: appending writes objects and moves nothing but that tip.
#[derive(Debug)]
pub(crate) struct Detached<'s> {
    store: &'s GitStore,
    tag: Tag,
    tip: RefCell<Option<CommitId>>,
}

impl<'s> Detached<'s> {
    /// The line that ends with `tip`.
    pub(crate) fn new(store: &'s GitStore, tag: &Tag, tip: Option<CommitId>) -> Self {
        Self { store, tag: tag.clone(), tip: RefCell::new(tip) }
    }

    fn here(&self, tag: &Tag) -> Option<CommitId> {
        if *tag == self.tag { self.tip.borrow().clone() } else { None }
    }
}

impl Store for Detached<'_> {
    fn tags(&self) -> Result<Vec<Tag>, StoreError> {
        Ok(self.tip.borrow().iter().map(|_| self.tag.clone()).collect())
    }

    fn tip(&self, tag: &Tag) -> Result<Option<CommitId>, StoreError> {
        Ok(self.here(tag))
    }

    fn parent(&self, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
        self.store.parent(id)
    }

    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError> {
        self.store.commit(id)
    }

    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        self.store.commit_text(id)
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        Store::read(self.store, blob)
    }

    fn file(&self, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError> {
        self.store.file(commit, path)
    }

    fn line(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        self.here(tag).map_or(Ok(Vec::new()), |tip| self.store.line_to(&tip))
    }

    fn line_to(&self, tip: &CommitId) -> Result<Vec<CommitId>, StoreError> {
        self.store.line_to(tip)
    }

    fn kept(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        self.store.kept(tag)
    }

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
        let ids = append::write_all(self.store, tag, expected.map(|id| read::oid(id.as_str())), new, signer)?;
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
    pub(crate) fn turn_to(&self, tag: &Tag, expected: Option<&CommitId>, new: &CommitId) -> Result<(), StoreError> {
        let (before, after) = (expected.map(|id| read::oid(id.as_str())), read::oid(new.as_str()));
        let mut waiting = super::patience::Waiting::start(self.patience);
        let what = format!("the journal of `{tag}`");
        let _lock = super::lock::WriterLock::take(&self.locks, tag.as_str(), &what, &mut waiting)?;
        let found = tip::tip(&self.repository.get(), tag)?;
        if found != before {
            return Err(tip::moved(tag, before, found));
        }
        if let Some(before) = expected
            && !self.follows(before, new)?
        {
            self.keep(tag, before)?;
        }
        tip::advance(&self.repository.get(), tag, before, after, self.patience, &mut waiting)
    }
}
