//! A store without a disk.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use asfound_core::names::Tag;

use super::{BlobId, Changes, Commit, CommitId, FileContent, NewCommit, Reader, Store, StoreError};
use crate::Digest;

/// A store in memory, for tests: behaves as [`GitStore`](super::GitStore) does, and its
/// ids follow from the contents likewise, but are not those of git.
///
/// Clones are handles on the same store.
#[derive(Debug, Clone, Default)]
pub struct MemoryStore {
    held: Arc<Mutex<Held>>,
}

#[derive(Debug, Default)]
struct Held {
    blobs: HashMap<BlobId, Vec<u8>>,
    commits: HashMap<CommitId, Commit>,
    tips: BTreeMap<Tag, CommitId>,
}

impl MemoryStore {
    /// An empty store.
    pub fn new() -> Self {
        Self::default()
    }

    fn held(&self) -> MutexGuard<'_, Held> {
        // Nothing is left half done by a panic: every change below is a single insertion.
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The first 40 digits of the digest of all parts, each preceded by its length.
fn id_over<'a>(kind: &str, parts: impl IntoIterator<Item = &'a [u8]>) -> String {
    let mut bytes = kind.as_bytes().to_vec();
    for part in parts {
        bytes.extend_from_slice(format!("\n{} ", part.len()).as_bytes());
        bytes.extend_from_slice(part);
    }
    let mut id = Digest::of(&bytes).to_string();
    id.truncate(40);
    id
}

fn blob_id(bytes: &[u8]) -> BlobId {
    id_over("blob", [bytes]).parse().expect("an id has 40 hexadecimal digits")
}

fn commit_id(parent: Option<&CommitId>, new: &NewCommit, files: &BTreeMap<String, BlobId>) -> CommitId {
    let parent = parent.map_or("", CommitId::as_str);
    let when = new.stored_time();
    let when = format!("{} {}", when.unix_timestamp(), when.offset().whole_seconds());
    let mut parts = vec![parent, new.author.name(), new.author.email(), &when, &new.message];
    for (path, blob) in files {
        parts.extend([path.as_str(), blob.as_str()]);
    }
    id_over("commit", parts.into_iter().map(str::as_bytes)).parse().expect("an id has 40 hexadecimal digits")
}

/// The commit as git would write it; the tree's id stands for the listing.
fn commit_text(commit: &Commit) -> String {
    let listing = commit.files.iter().flat_map(|(path, blob)| [path.as_bytes(), blob.as_str().as_bytes()]);
    let mut text = format!("tree {}\n", id_over("tree", listing));
    if let Some(parent) = &commit.parent {
        text.push_str(&format!("parent {parent}\n"));
    }
    let (offset, seconds) = (commit.committed.offset(), commit.committed.unix_timestamp());
    let sign = if offset.is_negative() { '-' } else { '+' };
    let (hours, minutes, _) = offset.as_hms();
    let when = format!("{seconds} {sign}{:02}{:02}", hours.unsigned_abs(), minutes.unsigned_abs());
    for role in ["author", "committer"] {
        text.push_str(&format!("{role} {} {when}\n", commit.author));
    }
    text.push_str(&format!("\n{}", commit.message));
    text
}

impl Held {
    fn commit(&self, id: &CommitId) -> Result<&Commit, StoreError> {
        self.commits.get(id).ok_or_else(|| StoreError::Missing { object: format!("commit {id}") })
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        self.blobs.get(blob).cloned().ok_or_else(|| StoreError::Missing { object: format!("blob {blob}") })
    }
}

impl Reader for MemoryStore {
    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        Ok(commit_text(self.held().commit(id)?).into_bytes())
    }

    fn changes(&self, before: Option<&CommitId>, id: &CommitId) -> Result<Changes, StoreError> {
        let held = self.held();
        let none = BTreeMap::new();
        let before = before.map_or(Ok(&none), |before| held.commit(before).map(|commit| &commit.files))?;
        let after = &held.commit(id)?.files;
        let gone = before.keys().filter(|path| !after.contains_key(*path)).map(|path| (path.clone(), None));
        let other = after.iter().filter(|(path, blob)| before.get(*path) != Some(*blob));
        Ok(gone.chain(other.map(|(path, blob)| (path.clone(), Some(blob.clone())))).collect())
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        self.held().read(blob)
    }
}

impl Store for MemoryStore {
    fn tags(&self) -> Result<Vec<Tag>, StoreError> {
        Ok(self.held().tips.keys().cloned().collect())
    }

    fn tip(&self, tag: &Tag) -> Result<Option<CommitId>, StoreError> {
        Ok(self.held().tips.get(tag).cloned())
    }

    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError> {
        self.held().commit(id).cloned()
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        self.held().read(blob)
    }

    fn file(&self, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError> {
        let held = self.held();
        match held.commit(commit)?.files.get(path) {
            Some(blob) => held.read(blob),
            None => Err(StoreError::NoSuchFile { commit: commit.clone(), path: path.to_owned() }),
        }
    }

    fn line(&self, tag: &Tag) -> Result<Vec<CommitId>, StoreError> {
        let held = self.held();
        let mut line = Vec::new();
        let mut next = held.tips.get(tag);
        while let Some(id) = next {
            line.push(id.clone());
            next = held.commit(id)?.parent.as_ref();
        }
        line.reverse();
        Ok(line)
    }

    fn reader(&self) -> Result<Box<dyn Reader>, StoreError> {
        Ok(Box::new(self.clone()))
    }

    fn append(&self, tag: &Tag, expected: Option<&CommitId>, new: &NewCommit) -> Result<CommitId, StoreError> {
        let unfit = |source| StoreError::Unfit { tag: tag.clone(), source };
        new.check().map_err(unfit)?;
        let mut held = self.held();
        let found = held.tips.get(tag);
        if found != expected {
            return Err(StoreError::Moved { tag: tag.clone(), expected: expected.cloned(), found: found.cloned() });
        }
        match expected {
            Some(id) => new.check_kept(&held.commit(id)?.files),
            None => new.check_kept(&BTreeMap::new()),
        }
        .map_err(unfit)?;

        let mut files = BTreeMap::new();
        for (path, content) in &new.files {
            let blob = match content {
                FileContent::Kept(blob) => blob.clone(),
                FileContent::New(bytes) => {
                    let id = blob_id(bytes);
                    held.blobs.entry(id.clone()).or_insert_with(|| bytes.clone());
                    id
                }
            };
            files.insert(path.to_string(), blob);
        }
        let id = commit_id(expected, new, &files);
        let commit = Commit {
            id: id.clone(),
            parent: expected.cloned(),
            author: new.author.clone(),
            committed: new.stored_time(),
            message: new.message.clone(),
            files,
        };
        held.commits.insert(id.clone(), commit);
        held.tips.insert(tag.clone(), id.clone());
        Ok(id)
    }
}
