//! A store without a disk.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use asfound_core::names::Tag;

use super::{BlobId, Changes, Commit, CommitId, FileContent, NewCommit, Reader, Store, StoreError, TreeId};
use crate::Digest;
use crate::sign::{Signer, signed_commit};

/// A store in memory, for tests: behaves as [`GitStore`](super::GitStore) does, and its
/// ids follow from the contents likewise, but are not those of git.
///
/// Clones are handles on the same store.
#[derive(Debug, Clone, Default)]
pub struct MemoryStore {
    held: Arc<Mutex<StoredCommit>>,
}

#[derive(Debug, Default)]
struct StoredCommit {
    blobs: HashMap<BlobId, Vec<u8>>,
    /// Each commit with its text.
    commits: HashMap<CommitId, (Commit, Vec<u8>)>,
    /// The files of the commits by what their texts call them.
    listings: HashMap<TreeId, BTreeMap<String, BlobId>>,
    tips: BTreeMap<Tag, CommitId>,
}

impl MemoryStore {
    /// An empty store.
    pub fn new() -> Self {
        Self::default()
    }

    fn held(&self) -> MutexGuard<'_, StoredCommit> {
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

fn commit_id(text: &[u8]) -> CommitId {
    id_over("commit", [text]).parse().expect("an id has 40 hexadecimal digits")
}

fn tree_id(files: &BTreeMap<String, BlobId>) -> TreeId {
    let listing = files.iter().flat_map(|(path, blob)| [path.as_bytes(), blob.as_str().as_bytes()]);
    id_over("tree", listing).parse().expect("an id has 40 hexadecimal digits")
}

impl StoredCommit {
    fn found(&self, id: &CommitId) -> Result<&(Commit, Vec<u8>), StoreError> {
        self.commits.get(id).ok_or_else(|| StoreError::Missing { object: format!("commit {id}") })
    }

    fn commit(&self, id: &CommitId) -> Result<&Commit, StoreError> {
        self.found(id).map(|(commit, _)| commit)
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        self.blobs.get(blob).cloned().ok_or_else(|| StoreError::Missing { object: format!("blob {blob}") })
    }
}

impl Reader for MemoryStore {
    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        self.held().found(id).map(|(_, text)| text.clone())
    }

    fn changes(&self, before: Option<&TreeId>, listing: &TreeId) -> Result<Changes, StoreError> {
        let held = self.held();
        let missing = |id: &TreeId| StoreError::Missing { object: format!("tree {id}") };
        let files = |id: &TreeId| held.listings.get(id).ok_or_else(|| missing(id));
        let none = BTreeMap::new();
        let (before, after) = (before.map_or(Ok(&none), files)?, files(listing)?);
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

    fn parent(&self, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
        Ok(self.held().commit(id)?.parent.clone())
    }

    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError> {
        self.held().commit(id).cloned()
    }

    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        self.held().found(id).map(|(_, text)| text.clone())
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

    fn append_all(
        &self,
        tag: &Tag,
        expected: Option<&CommitId>,
        new: &[NewCommit],
        signer: Option<&dyn Signer>,
    ) -> Result<Vec<CommitId>, StoreError> {
        let unfit = |source| StoreError::Unfit { tag: tag.clone(), source };
        new.iter().try_for_each(NewCommit::check).map_err(unfit)?;
        let mut held = self.held();
        let found = held.tips.get(tag);
        if found != expected {
            return Err(StoreError::Moved { tag: tag.clone(), expected: expected.cloned(), found: found.cloned() });
        }
        let before = expected.map(|id| held.commit(id).map(|commit| &commit.files)).transpose()?;
        new.iter().try_for_each(|new| new.check_kept(before)).map_err(unfit)?;

        let mut made: Vec<PendingCommit> = Vec::new();
        for new in new {
            let parent = made.last().map(|last| &last.commit.id).or(expected);
            made.push(PendingCommit::of(tag, parent, new, signer)?);
        }
        let ids: Vec<CommitId> = made.iter().map(|made| made.commit.id.clone()).collect();
        for PendingCommit { blobs, commit, text } in made {
            held.blobs.extend(blobs);
            held.listings.insert(tree_id(&commit.files), commit.files.clone());
            held.tips.insert(tag.clone(), commit.id.clone());
            held.commits.insert(commit.id.clone(), (commit, text));
        }
        Ok(ids)
    }
}

/// A commit that is made and not held yet.
struct PendingCommit {
    blobs: Vec<(BlobId, Vec<u8>)>,
    commit: Commit,
    text: Vec<u8>,
}

impl PendingCommit {
    fn of(
        tag: &Tag,
        parent: Option<&CommitId>,
        new: &NewCommit,
        signer: Option<&dyn Signer>,
    ) -> Result<Self, StoreError> {
        let mut files = BTreeMap::new();
        let mut blobs = Vec::new();
        for (path, content) in &new.files {
            let blob = match content {
                FileContent::Kept(blob) => blob.clone(),
                FileContent::New(bytes) => {
                    let id = blob_id(bytes);
                    blobs.push((id.clone(), bytes.clone()));
                    id
                }
            };
            files.insert(path.to_string(), blob);
        }
        let mut text = new.text(&tree_id(&files), parent);
        if let Some(signer) = signer {
            text = signed_commit(&text, signer).map_err(|source| StoreError::Unsigned { tag: tag.clone(), source })?;
        }
        let commit = Commit {
            id: commit_id(&text),
            parent: parent.cloned(),
            author: new.author.clone(),
            committed: new.stored_time(),
            message: new.message.clone(),
            files,
        };
        Ok(Self { blobs, commit, text })
    }
}
