//! Commits that are made and nowhere but in memory, with all of their objects.
//!
//! Everything of an entry is known before anything of it is written: whether it is signed, say. Then its objects are written all
//! at once ([`loose`]), which takes far fewer turns of the disk than one after the other, or with those of many entries
//! into one pack ([`pack`]).

mod delta;
mod loose;
mod pack;

use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use git2::{ObjectType, Oid, Repository};

use super::object_error::refused;
use super::read;
use crate::store::{BlobId, Commit, CommitId, StoreError};

/// How many contents may be told one by means of the other, as in git's own packs: whoever reads the last has to read them all.
const CHAIN: u8 = 50;

/// One object.
pub(super) struct Object {
    kind: ObjectType,
    content: Vec<u8>,
    /// Another of these that it is likely to have much in common with.
    like: Option<Oid>,
    /// How many lead to it, each like the one before.
    behind: u8,
}

/// A commit with its listing.
pub(super) struct Made {
    pub(super) commit: Commit,
    pub(super) folders: Folders,
}

impl Made {
    /// Whether its listing names an object.
    pub(super) fn names(&self, id: Oid) -> bool {
        let blob = read::blob_id(id);
        self.commit.files.values().any(|named| *named == blob) || self.folders.values().any(|named| *named == id)
    }
}

/// The folders of a commit by their paths; that of the whole commit has none.
pub(super) type Folders = BTreeMap<String, Oid>;

/// What was made.
#[derive(Default)]
pub(crate) struct Fresh {
    objects: HashMap<Oid, Object>,
    /// In the order in which they were made.
    order: Vec<Oid>,
    commits: HashMap<Oid, Rc<Made>>,
}

impl Fresh {
    /// Takes in an object; `like` may be any object.
    pub(super) fn add(&mut self, id: Oid, kind: ObjectType, content: Vec<u8>, like: Option<Oid>) {
        if self.objects.contains_key(&id) {
            return;
        }
        let like = like.and_then(|like| Some((like, self.objects.get(&like)?.behind + 1)));
        let like = like.filter(|(_, behind)| *behind < CHAIN);
        let behind = like.map_or(0, |(_, behind)| behind);
        self.objects.insert(id, Object { kind, content, like: like.map(|(like, _)| like), behind });
        self.order.push(id);
    }

    /// Takes in a commit, whose other objects were taken in.
    pub(super) fn add_commit(&mut self, text: Vec<u8>, made: impl FnOnce(Oid) -> Made) -> Result<Oid, StoreError> {
        let id = hash(ObjectType::Commit, &text)?;
        self.add(id, ObjectType::Commit, text, None);
        self.commits.entry(id).or_insert_with(|| Rc::new(made(id)));
        Ok(id)
    }

    /// A commit that was made here, or else one that is in the repository.
    pub(super) fn made(&self, repository: &Repository, id: Oid) -> Result<Rc<Made>, StoreError> {
        match self.commits.get(&id) {
            Some(made) => Ok(Rc::clone(made)),
            None => read::made(repository, &read::commit_id(id)).map(Rc::new),
        }
    }

    pub(super) fn commit(&self, id: &CommitId) -> Option<&Commit> {
        self.commits.get(&read::oid(id.as_str())).map(|made| &made.commit)
    }

    pub(super) fn commit_text(&self, id: &CommitId) -> Option<&[u8]> {
        self.content(read::oid(id.as_str()))
    }

    pub(super) fn blob(&self, id: &BlobId) -> Option<&[u8]> {
        self.content(read::oid(id.as_str()))
    }

    /// Whether nothing was made.
    pub(super) fn is_empty(&self) -> bool {
        self.order.is_empty()
    }

    fn content(&self, id: Oid) -> Option<&[u8]> {
        self.objects.get(&id).map(|object| object.content.as_slice())
    }
}

pub(super) fn hash(kind: ObjectType, content: &[u8]) -> Result<Oid, StoreError> {
    Oid::hash_object(kind, content).map_err(|error| refused("hash an object", &error))
}
