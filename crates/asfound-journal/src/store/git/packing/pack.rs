//! Writes a pack, and makes sure of it before anybody relies on it.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use git2::{ObjectType, Odb, Oid};

use super::super::object_error::refused;
use super::super::{GitStore, packs};
use super::loose_ones::NamedObject;
use crate::durable;
use crate::store::StoreError;
use crate::store::error::disk;

/// Where a pack is made: beside the objects, where no program looks for packs. Only one is made at a time.
pub(super) const TIDYING: &str = "asfound-tidy";
/// The same for entries that are filed at once.
pub(super) const FILING: &str = "asfound-bulk";

/// Writes the objects into one new pack; when this returns, the pack lasts, and each object was read back from it.
pub(super) fn write(
    store: &GitStore,
    named: &NamedObject,
    progress: &mut dyn FnMut(usize),
) -> Result<Option<PathBuf>, StoreError> {
    if named.objects.is_empty() {
        return Ok(None);
    }
    add(store, TIDYING, |workshop, folder| {
        let failed = |error: git2::Error| refused("write a pack", &error);
        let repository = store.repository.for_reading()?;
        let mut builder = repository.packbuilder().map_err(failed)?;
        builder.set_threads(0);
        for (id, _) in &named.objects {
            builder.insert_object(*id, named.names.get(id).map(String::as_str)).map_err(failed)?;
        }
        progress(0);
        builder.write(folder, 0o444).map_err(failed)?;
        read_back(workshop, &named.objects)?;
        progress(named.objects.len());
        Ok(())
    })
}

/// Adds the pack that `write` writes, given the workshop and the folder in it for packs; hands back its index.
///
/// When this returns, the pack lasts.
pub(super) fn add(
    store: &GitStore,
    workshop: &str,
    write: impl FnOnce(&Path, &Path) -> Result<(), StoreError>,
) -> Result<Option<PathBuf>, StoreError> {
    let workshop = store.repository.path().join(workshop);
    clear(&workshop)?;
    let made = workshop.join("pack");
    fs::create_dir_all(&made).map_err(disk("make the folder", &made))?;
    write(&workshop, &made)?;
    durable::sync_all_below(&workshop).map_err(disk("sync", &workshop))?;

    let folder = store.repository.path().join("objects/pack");
    durable::make_folder(&folder).map_err(disk("make the folder", &folder))?;
    let mut index = None;
    // The index last: without it nobody takes the pack for one.
    for ending in ["pack", "idx"] {
        for file in files(&made)?.into_iter().filter(|file| file.extension().is_some_and(|found| found == ending)) {
            let to = folder.join(file.file_name().unwrap_or_default());
            fs::rename(&file, &to).map_err(disk("name", &to))?;
            index = Some(to);
        }
        durable::sync_folder(&folder).map_err(disk("sync", &folder))?;
    }
    clear(&workshop)?;
    Ok(index)
}

/// That the pack in the workshop, and nothing else, gives every object to the letter.
fn read_back(workshop: &Path, objects: &[(Oid, ObjectType)]) -> Result<(), StoreError> {
    let damaged = |detail: String| StoreError::Damaged { object: "the pack that was just written".to_owned(), detail };
    packs::check_indexes_in(&workshop.join("pack"))?;
    let database = Odb::new().map_err(|error| refused("open a pack", &error))?;
    let path = workshop.to_str().ok_or_else(|| damaged("its path is not UTF-8".to_owned()))?;
    database.add_disk_alternate(path).map_err(|error| refused("open a pack", &error))?;
    for (id, kind) in objects {
        let read = database.read(*id).map_err(|error| damaged(format!("{id}: {}", error.message())))?;
        let hashed = Oid::hash_object(read.kind(), read.data()).map_err(|error| damaged(error.message().to_owned()))?;
        if hashed != *id || read.kind() != *kind {
            return Err(damaged(format!("{id} reads as {} {hashed}", read.kind())));
        }
    }
    Ok(())
}

pub(super) fn files(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(disk("list", folder)(error)),
    };
    entries.map(|entry| entry.map(|entry| entry.path()).map_err(disk("list", folder))).collect()
}

/// Removes what a killed process left in the workshop.
fn clear(workshop: &Path) -> Result<(), StoreError> {
    match fs::remove_dir_all(workshop) {
        Err(error) if error.kind() != ErrorKind::NotFound => Err(disk("remove", workshop)(error)),
        _ => Ok(()),
    }
}
