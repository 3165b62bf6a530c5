//! Reads much of a repository in a row.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use git2::{ObjectType, Oid};

use super::bounds::{self, ListingBounds};
use super::object_error::unreadable;
use super::read;
use super::repository::{HandlePool, PooledHandle};
use super::tree_text::{RawTreeEntry, differ, parse};
use super::{loose, transfer, zlib};
use crate::garage_file;
use crate::store::{BlobId, Changes, CommitId, Reader, StoreError, TreeId};

/// How many folders may lie within each other, as for listings.
const DEEPEST: usize = 64;
/// How many trees are remembered: those of two entries next to each other, and some.
const REMEMBERED: usize = 64;

/// Reads objects without a look at the disk for each of those that are packed, and loose ones by itself.
pub(super) struct GitReader {
    handle: PooledHandle,
    objects: PathBuf,
    /// The loose objects by the first byte of their ids, as they were when the first of them was looked for.
    loose: RefCell<HashMap<u8, HashSet<Oid>>>,
    trees: RefCell<HashMap<Oid, Arc<Vec<RawTreeEntry>>>>,
}

impl GitReader {
    /// A reader for a repository whose indexes were checked when the store was opened.
    pub(super) fn open(path: &Path, pool: &Arc<HandlePool>) -> Result<Self, StoreError> {
        let handle = PooledHandle::open(path, pool)?;
        let objects = path.join("objects");
        Ok(Self { handle, objects, loose: RefCell::default(), trees: RefCell::default() })
    }

    /// The content of an object, held against its id.
    fn object(&self, kind: ObjectType, id: Oid) -> Result<Vec<u8>, StoreError> {
        if self.is_loose(id)?
            && let Some(content) = self.loose_object(kind, id)?
        {
            return Ok(content);
        }
        self.handle.read(|repository| {
            let unreadable = |error| unreadable(repository, kind.str(), id, &error);
            if repository.path().ends_with(transfer::NAME) {
                // Loose objects of the repository behind it are none that were looked at above.
                loose::ensure_whole(repository, kind.str(), id)?;
            }
            // The library holds what it reads against its id, and looks into the packs first.
            let database = repository.odb().map_err(unreadable)?;
            bounds::check_size(repository, kind.str(), id)?;
            let object = database.read(id).map_err(unreadable)?;
            if object.kind() == kind {
                Ok(object.data().to_vec())
            } else {
                Err(of_another_kind(kind, id, object.kind().str()))
            }
        })
    }

    /// Whether there is a loose object. What is written later belongs to no entry that this reads.
    fn is_loose(&self, id: Oid) -> Result<bool, StoreError> {
        let first = id.as_bytes()[0];
        let mut loose = self.loose.borrow_mut();
        if let Some(found) = loose.get(&first) {
            return Ok(found.contains(&id));
        }
        let found = loose_objects(&self.objects, first)?;
        Ok(loose.entry(first).or_insert(found).contains(&id))
    }

    /// The content of a loose object; nothing where it is there no longer, because it was packed.
    fn loose_object(&self, kind: ObjectType, id: Oid) -> Result<Option<Vec<u8>>, StoreError> {
        let digits = id.to_string();
        let path = self.objects.join(&digits[..2]).join(&digits[2..]);
        let compressed = match garage_file::read_at_most(&path, u64::MAX) {
            Ok(compressed) => compressed,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
            Err(source) => return Err(StoreError::Disk { doing: "read the object", path, source }),
        };
        let damaged = |detail: String| StoreError::Damaged { object: format!("{} {id}", kind.str()), detail };
        let mut content = zlib::inflated(&compressed)
            .ok_or_else(|| damaged(format!("its file {} is cut short or overwritten", path.display())))?;
        let header = || damaged(format!("its file {} does not begin as an object does", path.display()));
        let nul = content.iter().position(|&byte| byte == 0).ok_or_else(header)?;
        let text = std::str::from_utf8(&content[..nul]).map_err(|_| header())?;
        let (found, length) = text.split_once(' ').ok_or_else(header)?;
        if length.parse() != Ok(content.len() - nul - 1) {
            return Err(header());
        }
        if found != kind.str() {
            return Err(of_another_kind(kind, id, found));
        }
        content.drain(..=nul);
        let hashed = Oid::hash_object(kind, &content).map_err(|error| damaged(error.message().to_owned()))?;
        if hashed == id { Ok(Some(content)) } else { Err(damaged(format!("its content has the id {hashed}"))) }
    }

    fn tree(&self, id: Oid) -> Result<Arc<Vec<RawTreeEntry>>, StoreError> {
        if let Some(lines) = self.trees.borrow().get(&id) {
            return Ok(lines.clone());
        }
        let content = self.object(ObjectType::Tree, id)?;
        // It is what its id says, so that somebody has written it like that.
        let lines = parse(&content).map_err(|detail| StoreError::OddTree { object: format!("tree {id}"), detail })?;
        let lines = Arc::new(lines);
        let mut trees = self.trees.borrow_mut();
        if trees.len() >= REMEMBERED {
            trees.clear();
        }
        trees.insert(id, lines.clone());
        Ok(lines)
    }

    /// What two trees, of which there may be only one, do not share.
    fn compare(
        &self,
        before: Option<Oid>,
        after: Option<Oid>,
        prefix: &str,
        left: &mut ListingBounds,
        changes: &mut Changes,
    ) -> Result<(), StoreError> {
        if before == after {
            return Ok(());
        }
        if prefix.bytes().filter(|&byte| byte == b'/').count() > DEEPEST {
            let object = format!("tree {}", after.or(before).unwrap_or(Oid::ZERO_SHA1));
            return Err(StoreError::OddTree {
                object,
                detail: format!("more than {DEEPEST} folders lie within each other"),
            });
        }
        let lines = |id: Option<Oid>| id.map_or_else(|| Ok(Arc::default()), |id| self.tree(id));
        let (old, new) = (lines(before)?, lines(after)?);
        for (was, is) in differ(&old, &new) {
            let Some(line) = is.or(was) else { continue };
            let path = format!("{prefix}{}", line.name);
            left.count(after.or(before).unwrap_or(Oid::ZERO_SHA1), &path)?;
            if line.is_folder {
                self.compare(was.map(RawTreeEntry::id), is.map(RawTreeEntry::id), &format!("{path}/"), left, changes)?;
            } else {
                // One that was a folder and is a file has lost what was in the folder, and is there.
                let blob = is.map(|line| read::blob_id(line.id()));
                if blob.is_some() || !changes.contains_key(&path) {
                    changes.insert(path, blob);
                }
            }
        }
        Ok(())
    }
}

impl Reader for GitReader {
    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        self.object(ObjectType::Commit, read::oid(id.as_str()))
    }

    fn changes(&self, before: Option<&TreeId>, listing: &TreeId) -> Result<Changes, StoreError> {
        let oid = |id: &TreeId| read::oid(id.as_str());
        let mut changes = Changes::new();
        self.compare(before.map(oid), Some(oid(listing)), "", &mut ListingBounds::default(), &mut changes)?;
        Ok(changes)
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        self.object(ObjectType::Blob, read::oid(blob.as_str()))
    }
}

fn of_another_kind(kind: ObjectType, id: Oid, found: &str) -> StoreError {
    StoreError::Damaged { object: format!("{} {id}", kind.str()), detail: format!("it is a {found}") }
}

/// The ids of the loose objects that begin with this byte.
fn loose_objects(objects: &Path, first: u8) -> Result<HashSet<Oid>, StoreError> {
    let folder = format!("{first:02x}");
    let path = objects.join(&folder);
    let disk = |source| StoreError::Disk { doing: "list", path: path.clone(), source };
    let mut found = HashSet::new();
    let entries = match fs::read_dir(&path) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(found),
        Err(error) => return Err(disk(error)),
    };
    for entry in entries {
        let name = entry.map_err(disk)?.file_name();
        let id = name.to_str().filter(|rest| rest.len() == 38).map(|rest| Oid::from_str(&format!("{folder}{rest}")));
        found.extend(id.and_then(Result::ok));
    }
    Ok(found)
}
