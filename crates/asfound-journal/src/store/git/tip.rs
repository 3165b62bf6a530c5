//! The tips of the journals: reads them, and moves one by compare-and-set.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::PathBuf;

use asfound_core::names::Tag;
use git2::{ErrorClass, ErrorCode, Oid, ReferenceType, Repository};

use super::object_error::refused;
use super::object_error::unreadable_file;
use super::patience::{Patience, Waiting};
use super::read;
use super::stale::StaleLock;
use crate::durable;
use crate::store::{Holder, StoreError};

pub(super) const BRANCHES: &str = "refs/heads/";

fn reference_name(tag: &Tag) -> String {
    format!("{BRANCHES}{tag}")
}

/// The vehicles with a branch. Branches whose names are no tags are none of ours.
pub(super) fn tags(repository: &Repository) -> Result<Vec<Tag>, StoreError> {
    let unreadable = |error: git2::Error| unreadable_file("the list of journals".to_owned(), &error);
    let mut references = repository.references_glob(&format!("{BRANCHES}*")).map_err(unreadable)?;
    // The library passes over a branch that it cannot read, which is no reason to hide the vehicle.
    let mut tags = tags_with_a_file(repository)?;
    for name in references.names() {
        let name = name.map_err(unreadable)?;
        tags.extend(name.strip_prefix(BRANCHES).and_then(|tag| tag.parse::<Tag>().ok()));
    }
    Ok(tags.into_iter().collect())
}

/// The vehicles whose branch has a file of its own, which those that were packed have not.
fn tags_with_a_file(repository: &Repository) -> Result<BTreeSet<Tag>, StoreError> {
    let folder = repository.path().join(BRANCHES);
    let disk = |source| StoreError::Disk { doing: "list", path: folder.clone(), source };
    let entries = match fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(BTreeSet::new()),
        Err(error) => return Err(disk(error)),
    };
    let mut tags = BTreeSet::new();
    for entry in entries {
        let entry = entry.map_err(disk)?;
        if entry.path().is_file() {
            tags.extend(entry.file_name().to_str().and_then(|name| name.parse::<Tag>().ok()));
        }
    }
    Ok(tags)
}

/// The newest commit of a journal; an error where the branch names one that is not there.
pub(super) fn tip(repository: &Repository, tag: &Tag) -> Result<Option<Oid>, StoreError> {
    let Some(id) = branch(repository, tag)? else { return Ok(None) };
    let objects = repository.odb().map_err(|error| refused("open the objects", &error))?;
    if objects.exists(id) {
        Ok(Some(id))
    } else {
        Err(StoreError::Missing { object: format!("commit {id}, the tip of `{tag}`,") })
    }
}

fn branch(repository: &Repository, tag: &Tag) -> Result<Option<Oid>, StoreError> {
    let name = reference_name(tag);
    match repository.find_reference(&name) {
        Ok(reference) if reference.kind() == Some(ReferenceType::Direct) => Ok(reference.target()),
        Ok(_) => Err(StoreError::Damaged { object: name, detail: "it points at another branch".to_owned() }),
        Err(error) if error.code() == ErrorCode::NotFound => Ok(None),
        Err(error) => Err(unreadable_file(name, &error)),
    }
}

pub(super) fn moved(tag: &Tag, expected: Option<Oid>, found: Option<Oid>) -> StoreError {
    StoreError::Moved { tag: tag.clone(), expected: expected.map(read::commit_id), found: found.map(read::commit_id) }
}

/// Moves the tip of a journal from `before` to `new`. To be called with our own lock held.
///
/// What others do for a moment is waited for; when this returns, the branch was read again
/// and ends with `new`.
pub(super) fn advance(
    repository: &Repository,
    tag: &Tag,
    before: Option<Oid>,
    new: Oid,
    patience: Patience,
    waiting: &mut Waiting,
) -> Result<(), StoreError> {
    let name = reference_name(tag);
    let folder = repository.path().join(BRANCHES);
    let lock_path = folder.join(format!("{tag}.lock"));
    let mut lock = StaleLock::new(lock_path.clone(), patience.stale);
    // Zero says that there must be no branch of this name yet.
    let expected = before.unwrap_or(Oid::ZERO_SHA1);
    loop {
        lock.remove_if_stale()?;
        let Err(error) = repository.reference_matching(&name, new, true, expected, "") else { break };
        let found = branch(repository, tag)?;
        if found == Some(new) {
            // It got through, but may have failed to sync.
            sync(folder)?;
            break;
        }
        if found != before {
            return Err(moved(tag, before, found));
        }
        if !is_passing(&error) {
            return Err(refused(&format!("move the tip of `{tag}`"), &error));
        }
        // Packing of references can remove the folder.
        durable::make_folder(&folder).map_err(|source| StoreError::Disk {
            doing: "make the folder",
            path: folder.clone(),
            source,
        })?;
        if !waiting.pause() {
            return Err(if lock_path.exists() {
                StoreError::Busy {
                    what: format!("the journal of `{tag}`"),
                    holder: Holder::LockFile(lock_path),
                    waited: waiting.so_far(),
                }
            } else {
                refused(&format!("move the tip of `{tag}`"), &error)
            });
        }
    }
    match branch(repository, tag)? {
        Some(found) if found == new => Ok(()),
        found => Err(StoreError::NotFiled {
            tag: tag.clone(),
            commit: read::commit_id(new),
            found: found.map(read::commit_id),
        }),
    }
}

fn sync(folder: PathBuf) -> Result<(), StoreError> {
    durable::sync_folder(&folder).map_err(|source| StoreError::Disk { doing: "sync", path: folder, source })
}

/// Whether an attempt that failed so may succeed when it is made again.
fn is_passing(error: &git2::Error) -> bool {
    let os = error.class() == ErrorClass::Os;
    match error.code() {
        // Somebody's lock; or the branch was packed between two looks at it.
        ErrorCode::Locked | ErrorCode::Modified => true,
        // Packing had just removed the folder.
        ErrorCode::NotFound => os,
        ErrorCode::GenericError => os && error.message().contains("failed to rename lockfile"),
        _ => false,
    }
}
