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
    let repository = &store.repository;
    let before = expected.map(|id| read::oid(id.as_str()));

    let mut waiting = Waiting::start(store.patience);
    let _lock = WriterLock::take(&store.locks, tag.as_str(), &format!("the journal of `{tag}`"), &mut waiting)?;
    let found = tip::tip(repository, tag)?;
    if found != before {
        return Err(tip::moved(tag, before, found));
    }

    let mut parent = before.map(|id| read::raw_commit(repository, id)).transpose()?;
    let mut parent_tree = parent.as_ref().map(|commit| read::tree_of(repository, commit)).transpose()?;
    let listing = parent_tree.as_ref().map_or(Ok(BTreeMap::new()), |root| read::listing(repository, root))?;
    new.iter().try_for_each(|new| new.check_kept(&listing)).map_err(unfit)?;

    let known: HashSet<Oid> = listing.values().map(|blob| read::oid(blob.as_str())).collect();
    let objects = ObjectWriter::new(repository, known)?;
    let mut ids = Vec::with_capacity(new.len());
    for new in new {
        if let Some(last) = ids.last() {
            let last = read::raw_commit(repository, *last)?;
            parent_tree = Some(read::tree(repository, last.tree_id())?);
            parent = Some(last);
        }
        let tree = tree::write(repository, &objects, &new.files, parent_tree.as_ref())?;
        let mut text = commit_text(repository, new, tree, parent.as_ref())?;
        // The signature is made over the text and written into it. The lock is held meanwhile: only under it is
        // it known that this is the text.
        if let Some(signer) = signer {
            text = signed_commit(&text, signer).map_err(|source| StoreError::Unsigned { tag: tag.clone(), source })?;
        }
        ids.push(objects.write(ObjectType::Commit, &text)?);
    }
    // Until here nothing that was written can be seen by anybody who reads the journal.
    let Some(last) = ids.last() else { return Ok(Vec::new()) };
    tip::advance(repository, tag, before, *last, store.patience, &mut waiting)?;
    Ok(ids.into_iter().map(read::commit_id).collect())
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
