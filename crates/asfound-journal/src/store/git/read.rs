//! Reads commits, listings and blobs.

use std::collections::BTreeMap;

use git2::{FileMode, ObjectType, Oid, Repository, Tree};
use time::{OffsetDateTime, UtcOffset};

use super::bounds::{self, ListingBounds};
use super::loose;
use super::object_error::unreadable;
use super::pending::{Folders, PendingCommit};
use crate::store::{Author, BlobId, Commit, CommitId, StoreError, TreeId};

/// How many folders may lie within each other. A listing written here has a handful; a
/// forged one could otherwise exhaust the stack.
const DEEPEST: usize = 64;

pub(super) fn commit_id(oid: Oid) -> CommitId {
    oid.to_string().parse().expect("the library writes 40 lower-case hexadecimal digits")
}

pub(super) fn tree_id(oid: Oid) -> TreeId {
    oid.to_string().parse().expect("the library writes 40 lower-case hexadecimal digits")
}

pub(super) fn blob_id(oid: Oid) -> BlobId {
    oid.to_string().parse().expect("the library writes 40 lower-case hexadecimal digits")
}

pub(super) fn oid(id: &str) -> Oid {
    Oid::from_str(id).expect("an id has 40 hexadecimal digits")
}

pub(super) fn raw_commit(repository: &Repository, id: Oid) -> Result<git2::Commit<'_>, StoreError> {
    loose::ensure_whole(repository, "commit", id)?;
    repository.find_commit(id).map_err(|error| unreadable(repository, "commit", id, &error))
}

/// The first parent that a commit names. The library's own answer follows grafts and shallow marks, which are not what was
/// written.
fn first_parent(commit: &git2::Commit<'_>) -> Option<Oid> {
    let mut lines = commit.raw_header_bytes().split(|byte| *byte == b'\n');
    lines.next().filter(|line| line.starts_with(b"tree "))?;
    let id = lines.next()?.strip_prefix(b"parent ")?;
    Oid::from_str(std::str::from_utf8(id).ok()?).ok()
}

pub(super) fn tree_of<'r>(repository: &'r Repository, commit: &git2::Commit<'r>) -> Result<Tree<'r>, StoreError> {
    tree(repository, commit.tree_id())
}

pub(super) fn tree(repository: &Repository, id: Oid) -> Result<Tree<'_>, StoreError> {
    loose::ensure_whole(repository, "tree", id)?;
    repository.find_tree(id).map_err(|error| unreadable(repository, "tree", id, &error))
}

pub(super) fn blob(repository: &Repository, id: Oid) -> Result<Vec<u8>, StoreError> {
    loose::ensure_whole(repository, "blob", id)?;
    bounds::check_size(repository, "blob", id)?;
    match repository.find_blob(id) {
        Ok(blob) => Ok(blob.content().to_vec()),
        Err(error) => Err(unreadable(repository, "blob", id, &error)),
    }
}

pub(super) fn commit(repository: &Repository, id: &CommitId) -> Result<Commit, StoreError> {
    made(repository, id).map(|made| made.commit)
}

/// A commit with the folders of its listing.
pub(super) fn made(repository: &Repository, id: &CommitId) -> Result<PendingCommit, StoreError> {
    let raw = raw_commit(repository, oid(id.as_str()))?;
    let signature = raw.author();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (files, folders) = listing(repository, &tree_of(repository, &raw)?)?;
    let commit = Commit {
        id: id.clone(),
        parent: first_parent(&raw).map(commit_id),
        author: Author::as_found(text(signature.name_bytes()), text(signature.email_bytes())),
        committed: time_of(&raw).ok_or_else(|| StoreError::Damaged {
            object: format!("commit {id}"),
            detail: "its time is outside the calendar".to_owned(),
        })?,
        message: text(raw.message_raw_bytes()),
        files,
    };
    Ok(PendingCommit { commit, folders })
}

/// The whole text of a commit object.
pub(super) fn commit_text(repository: &Repository, id: &CommitId) -> Result<Vec<u8>, StoreError> {
    let id = oid(id.as_str());
    loose::ensure_whole(repository, "commit", id)?;
    let unreadable = |error: git2::Error| unreadable(repository, "commit", id, &error);
    let objects = repository.odb().map_err(unreadable)?;
    let object = objects.read(id).map_err(unreadable)?;
    Ok(object.data().to_vec())
}

fn time_of(commit: &git2::Commit<'_>) -> Option<OffsetDateTime> {
    let time = commit.time();
    let offset = UtcOffset::from_whole_seconds(time.offset_minutes().checked_mul(60)?).ok()?;
    OffsetDateTime::from_unix_timestamp(time.seconds()).ok()?.checked_to_offset(offset)
}

/// Every file and folder below a tree, by path.
fn listing(repository: &Repository, root: &Tree<'_>) -> Result<(BTreeMap<String, BlobId>, Folders), StoreError> {
    let (mut files, mut folders) = (BTreeMap::new(), Folders::new());
    list_below(repository, root, ("", 0), &mut ListingBounds::default(), (&mut files, &mut folders))?;
    Ok((files, folders))
}

fn list_below(
    repository: &Repository,
    folder: &Tree<'_>,
    (prefix, depth): (&str, usize),
    left: &mut ListingBounds,
    (files, folders): (&mut BTreeMap<String, BlobId>, &mut Folders),
) -> Result<(), StoreError> {
    let odd = |detail| StoreError::OddTree { object: format!("tree {}", folder.id()), detail };
    if depth > DEEPEST {
        return Err(odd(format!("more than {DEEPEST} folders lie within each other")));
    }
    folders.insert(prefix.trim_end_matches('/').to_owned(), folder.id());
    for entry in folder {
        let name = entry.name().map_err(|_| odd("it holds a name that is not UTF-8".to_owned()))?;
        let path = format!("{prefix}{name}");
        left.count(folder.id(), &path)?;
        let mode = entry.filemode_raw();
        if mode == i32::from(FileMode::Blob) && entry.kind() == Some(ObjectType::Blob) {
            if files.insert(path.clone(), blob_id(entry.id())).is_some() {
                return Err(odd(format!("`{path}` is listed twice")));
            }
        } else if mode == i32::from(FileMode::Tree) && entry.kind() == Some(ObjectType::Tree) {
            let below = tree(repository, entry.id())?;
            list_below(repository, &below, (&format!("{path}/"), depth + 1), left, (files, folders))?;
        } else {
            return Err(odd(format!("`{path}` is neither a plain file nor a folder (mode {mode:o})")));
        }
    }
    Ok(())
}

pub(super) fn file(repository: &Repository, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError> {
    let none = || StoreError::NoSuchFile { commit: commit.clone(), path: path.to_owned() };
    let mut folder = tree_of(repository, &raw_commit(repository, oid(commit.as_str()))?)?;
    let mut parts = path.split('/').peekable();
    while let Some(part) = parts.next() {
        let (id, kind) = folder.get_name(part).map(|entry| (entry.id(), entry.kind())).ok_or_else(none)?;
        match (kind, parts.peek()) {
            (Some(ObjectType::Blob), None) => return blob(repository, id),
            (Some(ObjectType::Tree), Some(_)) => folder = tree(repository, id)?,
            _ => break,
        }
    }
    Err(none())
}

pub(super) fn parent(repository: &Repository, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
    Ok(first_parent(&raw_commit(repository, oid(id.as_str()))?).map(commit_id))
}
