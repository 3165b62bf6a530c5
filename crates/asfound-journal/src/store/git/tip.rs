//! Reads the tips of the journals.

use std::collections::BTreeSet;
use std::fs;
use std::io;

use asfound_core::names::Tag;
use git2::{ErrorCode, Oid, ReferenceType, Repository};

use super::object_error::refused;
use super::object_error::unreadable_file;
use super::repository::OpenRepository;
use super::{read, special_files};
use crate::store::StoreError;
use crate::store::error::disk;

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
    let disk = disk("list", &folder);
    let entries = match fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(BTreeSet::new()),
        Err(error) => return Err(disk(error)),
    };
    let mut tags = BTreeSet::new();
    for entry in entries {
        let entry = entry.map_err(&disk)?;
        if entry.path().is_file() {
            tags.extend(entry.file_name().to_str().and_then(|name| name.parse::<Tag>().ok()));
        }
    }
    Ok(tags)
}

/// The newest commit of a journal; an error where the branch names one that is not there.
pub(super) fn tip(opened: &OpenRepository, tag: &Tag) -> Result<Option<Oid>, StoreError> {
    let repository = opened.get();
    let Some(id) = branch(&repository, tag)? else { return Ok(None) };
    let objects = repository.odb().map_err(|error| refused("open the objects", &error))?;
    if objects.exists(id) {
        Ok(Some(id))
    } else {
        // It may be there, and its pack not fit to be opened.
        opened.check()?;
        Err(StoreError::Missing { object: format!("commit {id}, the tip of `{tag}`,") })
    }
}

/// What the branch of a journal says, whether or not that is there.
pub(super) fn branch(repository: &Repository, tag: &Tag) -> Result<Option<Oid>, StoreError> {
    let name = reference_name(tag);
    special_files::check_file(&repository.path().join(&name))?;
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
