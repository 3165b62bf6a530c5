//! Writes objects so that they last.

use std::cell::RefCell;
use std::collections::HashSet;
use std::path::PathBuf;

use git2::{ObjectType, Odb, OdbLookupFlags, Oid, Repository};

use super::loose;
use super::object_error::unreadable;
use super::tidy::Named;
use crate::durable;
use crate::store::StoreError;

/// Writes the objects of one commit.
pub(super) struct ObjectWriter<'r> {
    repository: &'r Repository,
    objects: Odb<'r>,
    folder: PathBuf,
    known: HashSet<Oid>,
    gathered: Option<&'r RefCell<Named>>,
}

impl<'r> ObjectWriter<'r> {
    /// A writer for `repository`; `known` are objects of filed entries, which last already.
    pub(super) fn new(
        repository: &'r Repository,
        known: HashSet<Oid>,
        gathered: Option<&'r RefCell<Named>>,
    ) -> Result<Self, StoreError> {
        let objects = repository.odb().map_err(|error| refused("open the objects", &error))?;
        Ok(Self { repository, objects, folder: repository.path().join("objects"), known, gathered })
    }

    /// Writes an object unless it is there, and sees to it that it lasts.
    pub(super) fn write(&self, kind: ObjectType, bytes: &[u8]) -> Result<Oid, StoreError> {
        let id = Oid::hash_object(kind, bytes).map_err(|error| refused("hash an object", &error))?;
        if self.known.contains(&id) {
            return Ok(id);
        }
        if self.gathered.is_some_and(|gathered| gathered.borrow().holds(id)) {
            return Ok(id);
        }
        let folder = self.folder.join(&id.to_string()[..2]);
        let disk = |doing| {
            let path = folder.clone();
            move |source| StoreError::Disk { doing, path, source }
        };
        // The library takes a file of the right name for the object, without looking into it.
        if self.objects.exists_ext(id, OdbLookupFlags::NO_REFRESH) {
            loose::ensure_whole(self.repository, kind.str(), id)?;
            if let Err(error) = self.objects.read(id) {
                return Err(unreadable(self.repository, kind.str(), id, &error));
            }
            // Its writer may have been killed before it synced the name.
            if folder.is_dir() {
                durable::sync_folder(&folder).map_err(disk("sync"))?;
            }
            return Ok(id);
        }
        if let Some(gathered) = self.gathered {
            let written = self.objects.write(kind, bytes);
            gathered.borrow_mut().add(id, kind, bytes);
            return written.map_err(|error| refused(&format!("keep {} {id}", kind.str()), &error));
        }
        // Packing removes folders that it has emptied.
        durable::make_folder(&folder).map_err(disk("make the folder"))?;
        self.objects.write(kind, bytes).map_err(|error| refused(&format!("write {} {id}", kind.str()), &error))
    }
}

pub(super) fn refused(doing: &str, error: &git2::Error) -> StoreError {
    StoreError::Git { doing: doing.to_owned(), detail: error.message().to_owned() }
}
