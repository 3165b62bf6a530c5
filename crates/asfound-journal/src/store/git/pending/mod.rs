//! Commits that are made and nowhere but in memory, with all of their objects.
//!
//! Everything of an entry is known before anything of it is written: whether it is signed, say. Then its objects are written all
//! at once ([`loose`]), which takes far fewer turns of the disk than one after the other, or with those of many entries
//! into one pack ([`pack`]).

mod delta;
mod loose;
mod pack;

pub(super) use loose::{make_folders, sync_content};

use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use git2::{ObjectType, Oid, Repository};

use super::object_error::refused;
use super::read;
use crate::store::{BlobId, Commit, CommitId, StoreError};

/// How many contents may be told one by means of the other, as in git's own packs: whoever reads the last has to read them all.
const CHAIN: u8 = 50;

/// One object.
pub(super) struct PendingObject {
    kind: ObjectType,
    content: Vec<u8>,
    /// Another of these that it is likely to have much in common with.
    delta_base: Option<Oid>,
    /// How many lead to it, each like the one before.
    delta_depth: u8,
}

/// A commit with its listing.
pub(super) struct PendingCommit {
    pub(super) commit: Commit,
    pub(super) folders: Folders,
}

impl PendingCommit {
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
pub(crate) struct PendingObjects {
    objects: HashMap<Oid, PendingObject>,
    /// In the order in which they were made.
    order: Vec<Oid>,
    commits: HashMap<Oid, Rc<PendingCommit>>,
}

impl PendingObjects {
    /// Takes in an object; `delta_base` may be any object.
    pub(super) fn add(&mut self, id: Oid, kind: ObjectType, content: Vec<u8>, delta_base: Option<Oid>) {
        if self.objects.contains_key(&id) {
            return;
        }
        let delta_base =
            delta_base.and_then(|delta_base| Some((delta_base, self.objects.get(&delta_base)?.delta_depth + 1)));
        let delta_base = delta_base.filter(|(_, delta_depth)| *delta_depth < CHAIN);
        let delta_depth = delta_base.map_or(0, |(_, delta_depth)| delta_depth);
        self.objects.insert(
            id,
            PendingObject { kind, content, delta_base: delta_base.map(|(delta_base, _)| delta_base), delta_depth },
        );
        self.order.push(id);
    }

    /// Takes in a commit, whose other objects were taken in.
    pub(super) fn add_commit(
        &mut self,
        text: Vec<u8>,
        made: impl FnOnce(Oid) -> PendingCommit,
    ) -> Result<Oid, StoreError> {
        let id = hash(ObjectType::Commit, &text)?;
        self.add(id, ObjectType::Commit, text, None);
        self.commits.entry(id).or_insert_with(|| Rc::new(made(id)));
        Ok(id)
    }

    /// A commit that was made here, or else one that is in the repository.
    pub(super) fn made(&self, repository: &Repository, id: Oid) -> Result<Rc<PendingCommit>, StoreError> {
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

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::Path;

    use git2::Odb;

    use super::*;

    /// A file that changes a little in each of so many entries, more than may lead to each other.
    fn versions() -> PendingObjects {
        let mut pending = PendingObjects::default();
        let mut last = None;
        for version in 0..3 * u32::from(CHAIN) {
            let line =
                |n: u32| format!("{:08x} line {n}\n", if n == version % 90 { version } else { 0 }.wrapping_mul(77_773));
            let content: String = (0..100).map(line).collect();
            let id = hash(ObjectType::Blob, content.as_bytes()).unwrap();
            pending.add(id, ObjectType::Blob, content.into_bytes(), last);
            last = Some(id);
        }
        pending
    }

    fn read_all(pending: &PendingObjects, database: &Odb<'_>) {
        assert!(pending.objects.len() > 2 * usize::from(CHAIN));
        for (id, object) in &pending.objects {
            let read = database.read(*id).unwrap();
            assert_eq!((read.kind(), read.data()), (object.kind, object.content.as_slice()));
        }
    }

    fn files(folder: &Path) -> Vec<String> {
        let name = |entry: std::io::Result<fs::DirEntry>| entry.unwrap().file_name().into_string().unwrap();
        fs::read_dir(folder).unwrap().map(name).collect()
    }

    #[test]
    fn a_pack_gives_every_object_and_takes_little() {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("pack");
        fs::create_dir(&folder).unwrap();
        let pending = versions();
        assert!(pending.objects.values().all(|object| object.delta_depth < CHAIN));
        pending.write_pack(&folder).unwrap();
        let database = Odb::new().unwrap();
        database.add_disk_alternate(place.path().to_str().unwrap()).unwrap();
        read_all(&pending, &database);
        let sizes = files(&folder).into_iter().map(|name| fs::metadata(folder.join(name)).unwrap().len());
        let size: u64 = sizes.sum();
        assert!(size < 120 * pending.objects.len() as u64, "{size} bytes for {} objects", pending.objects.len());
    }

    #[test]
    fn what_is_removed_before_it_was_named_is_written_again() {
        let place = tempfile::tempdir().unwrap();
        let repository = Repository::init_bare(place.path()).unwrap();
        let mut pending = PendingObjects::default();
        let contents = [&b"one"[..], b"two", b"three"];
        let ids = contents.map(|content| Oid::hash_object(ObjectType::Blob, content).unwrap());
        for (id, content) in ids.iter().zip(contents) {
            pending.add(*id, ObjectType::Blob, content.to_vec(), None);
        }
        pending.write_loose(&repository, None).unwrap();
        pending.write_what_is_gone(&repository).unwrap();
        let file = super::super::packing::file(&place.path().join("objects"), ids[1]);
        fs::remove_file(&file).unwrap();
        // As git's own cleaning does with a folder that it has emptied.
        let _ = fs::remove_dir(file.parent().unwrap());
        assert!(repository.find_blob(ids[1]).is_err());
        pending.write_what_is_gone(&repository).unwrap();
        for (id, content) in ids.iter().zip(contents) {
            assert_eq!(repository.find_blob(*id).unwrap().content(), content);
        }
    }

    #[test]
    fn loose_objects_are_written_whatever_is_there_and_nothing_is_left_beside_them() {
        let place = tempfile::tempdir().unwrap();
        let repository = Repository::init_bare(place.path()).unwrap();
        let pending = versions();
        pending.write_loose(&repository, None).unwrap();
        read_all(&pending, &repository.odb().unwrap());
        pending.write_loose(&repository, None).unwrap();
        let objects = place.path().join("objects");
        for folder in files(&objects).into_iter().filter(|name| name.len() == 2) {
            assert!(files(&objects.join(folder)).iter().all(|name| name.len() == 38));
        }
        // A file of the right name with something else in it is told, and not taken for the object.
        let id = pending.order[7].to_string();
        let file = objects.join(&id[..2]).join(&id[2..]);
        fs::remove_file(&file).unwrap();
        fs::write(&file, b"").unwrap();
        let refused = pending.write_loose(&Repository::open_bare(place.path()).unwrap(), None);
        assert!(matches!(refused, Err(StoreError::Damaged { .. })), "{refused:?}");
    }
}
