//! Appends commits to a journal: all of them or none.

use asfound_core::names::Tag;
use git2::{Oid, Repository};

use super::lock_timeouts::LockWait;
use super::next_tip::{NextTip, settle};
use super::pending::{PendingCommit, PendingObjects};
use super::{GitStore, read, tip, tree};
use crate::sign::{Signer, signed_commit};
use crate::store::{Commit, CommitId, NewCommit, StoreError};

pub(super) fn append(
    store: &GitStore,
    tag: &Tag,
    expected: Option<&CommitId>,
    new: &[NewCommit],
    signer: Option<&dyn Signer>,
) -> Result<Vec<CommitId>, StoreError> {
    let unfit = |source| StoreError::Unfit { tag: tag.clone(), source };
    new.iter().try_for_each(NewCommit::check).map_err(unfit)?;
    let repository = &*store.repository.for_reading()?;
    let before = expected.map(|id| read::oid(id.as_str()));

    let mut waiting = LockWait::start(store.timeouts);
    let lock = store.writer_lock(tag.as_str(), &format!("the journal of `{tag}`"), &mut waiting)?;
    let found = tip::tip(&store.repository, tag)?;
    if found != before {
        return Err(tip::moved(tag, before, found));
    }
    store.check_not_set_back(tag, expected)?;
    // The signature is made over the text and written into it. The lock is held meanwhile: only under it is
    // it known that this is the text.
    let mut fresh = PendingObjects::default();
    let ids = make(repository, &mut fresh, tag, before, new, signer)?;
    let Some(last) = ids.last().copied() else { return Ok(Vec::new()) };
    // Until the tip moves nothing that was written can be seen by anybody who reads the journal.
    let next = NextTip::write(store, tag, last)?;
    fresh.write_loose(repository, Some(next.content()))?;
    next.put(before, &mut waiting)?;
    settle(store, [(tag, last)])?;
    // Until it was named, git's own cleaning could take any of it.
    fresh.write_what_is_gone(repository)?;
    drop((next, lock));
    store.tidy_in_passing(last);
    Ok(ids.into_iter().map(read::commit_id).collect())
}

/// Makes several commits in memory, each behind the one before.
pub(super) fn make(
    repository: &Repository,
    fresh: &mut PendingObjects,
    tag: &Tag,
    before: Option<Oid>,
    new: &[NewCommit],
    signer: Option<&dyn Signer>,
) -> Result<Vec<Oid>, StoreError> {
    let mut ids: Vec<Oid> = Vec::with_capacity(new.len());
    for new in new {
        let before = ids.last().copied().or(before);
        ids.push(make_one(repository, fresh, tag, before, new, signer)?);
    }
    Ok(ids)
}

fn make_one(
    repository: &Repository,
    fresh: &mut PendingObjects,
    tag: &Tag,
    before: Option<Oid>,
    new: &NewCommit,
    signer: Option<&dyn Signer>,
) -> Result<Oid, StoreError> {
    let unfit = |source| StoreError::Unfit { tag: tag.clone(), source };
    new.check().map_err(unfit)?;
    let parent = before.map(|id| fresh.made(repository, id)).transpose()?;
    new.check_kept(parent.as_ref().map(|made| &made.commit.files)).map_err(unfit)?;
    let (root, listed) = tree::make(fresh, &new.files, parent.as_deref())?;
    let parent = before.map(read::commit_id);
    let mut text = new.text(&read::tree_id(root), parent.as_ref());
    if let Some(signer) = signer {
        text = signed_commit(&text, signer).map_err(|source| StoreError::Unsigned { tag: tag.clone(), source })?;
    }
    fresh.add_commit(text, |id| PendingCommit {
        commit: Commit {
            id: read::commit_id(id),
            parent,
            author: new.author.clone(),
            committed: new.stored_time(),
            message: new.message.clone(),
            files: listed.files,
        },
        folders: listed.folders,
    })
}
