//! Appends commits to a journal: all of them or none.

use std::collections::{BTreeMap, HashSet};

use asfound_core::names::Tag;
use git2::{ObjectType, Oid, Repository, Signature, Time};

use super::lock::WriterLock;
use super::objects::{ObjectWriter, refused};
use super::patience::Waiting;
use super::{GitStore, read, tip, tree};
use crate::sign::{Signer, signed_commit};
use crate::store::{CommitId, NewCommit, StoreError};

pub(super) fn append(
    store: &GitStore,
    tag: &Tag,
    expected: Option<&CommitId>,
    new: &[NewCommit],
    signer: Option<&dyn Signer>,
) -> Result<Vec<CommitId>, StoreError> {
    let unfit = |source| StoreError::Unfit { tag: tag.clone(), source };
    new.iter().try_for_each(NewCommit::check).map_err(unfit)?;
    let repository = &*store.repository.get();
    let before = expected.map(|id| read::oid(id.as_str()));

    let mut waiting = Waiting::start(store.patience);
    let lock = WriterLock::take(&store.locks, tag.as_str(), &format!("the journal of `{tag}`"), &mut waiting)?;
    let found = tip::tip(repository, tag)?;
    if found != before {
        return Err(tip::moved(tag, before, found));
    }
    // The signature is made over the text and written into it. The lock is held meanwhile: only under it is
    // it known that this is the text.
    let ids = write_all(store, tag, before, new, signer)?;
    // Until here nothing that was written can be seen by anybody who reads the journal.
    let Some(last) = ids.last().copied() else { return Ok(Vec::new()) };
    tip::advance(repository, tag, before, last, store.patience, &mut waiting)?;
    drop(lock);
    store.tidy_in_passing(last);
    Ok(ids.into_iter().map(read::commit_id).collect())
}

/// Writes the objects of several commits, each behind the one before.
pub(super) fn write_all(
    store: &GitStore,
    tag: &Tag,
    before: Option<Oid>,
    new: &[NewCommit],
    signer: Option<&dyn Signer>,
) -> Result<Vec<Oid>, StoreError> {
    let mut ids = Vec::with_capacity(new.len());
    for new in new {
        let id = write(store, tag, ids.last().copied().or(before), new, signer)?;
        ids.push(id);
    }
    Ok(ids)
}

/// Writes the objects of a commit, to which no reference points yet.
fn write(
    store: &GitStore,
    tag: &Tag,
    before: Option<Oid>,
    new: &NewCommit,
    signer: Option<&dyn Signer>,
) -> Result<Oid, StoreError> {
    let unfit = |source| StoreError::Unfit { tag: tag.clone(), source };
    new.check().map_err(unfit)?;
    let repository = &*store.repository.get();
    let parent = before.map(|id| read::raw_commit(repository, id)).transpose()?;
    let parent_tree = parent.as_ref().map(|commit| read::tree_of(repository, commit)).transpose()?;
    let listing = parent_tree.as_ref().map_or(Ok(BTreeMap::new()), |root| read::listing(repository, root))?;
    new.check_kept(&listing).map_err(unfit)?;

    let known: HashSet<Oid> = listing.values().map(|blob| read::oid(blob.as_str())).collect();
    let objects = ObjectWriter::new(repository, known, store.gathered.as_ref())?;
    let tree = tree::write(repository, &objects, &new.files, parent_tree.as_ref())?;
    let mut text = commit_text(repository, new, tree, parent.as_ref())?;
    if let Some(signer) = signer {
        text = signed_commit(&text, signer).map_err(|source| StoreError::Unsigned { tag: tag.clone(), source })?;
    }
    objects.write(ObjectType::Commit, &text)
}

/// The text of the commit object, which is what a signature is made over.
fn commit_text(
    repository: &Repository,
    new: &NewCommit,
    tree: Oid,
    parent: Option<&git2::Commit<'_>>,
) -> Result<Vec<u8>, StoreError> {
    let tree = read::tree(repository, tree)?;
    let when = new.stored_time();
    let time = Time::new(when.unix_timestamp(), i32::from(when.offset().whole_minutes()));
    let author = Signature::new(new.author.name(), new.author.email(), &time)
        .map_err(|error| refused("write the author", &error))?;
    let parents: Vec<_> = parent.into_iter().collect();
    let text = repository
        .commit_create_buffer(&author, &author, &new.message, &tree, &parents)
        .map_err(|error| refused("write the commit", &error))?;
    Ok(text.to_vec())
}
