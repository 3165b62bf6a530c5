//! Writes objects each into a file of its own, so that they last.
//!
//! A file of the right name is taken for the object by every program, so that it has to be whole whenever the power goes: the
//! contents are synced under another name first, then named, then the names are synced. Each of these steps is done for all
//! objects together, so that the disk is waited for twice and not twice for each.

use std::collections::BTreeSet;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use git2::{Odb, OdbLookupFlags, Oid, Repository};

use super::super::object_error::{refused, unreadable};
use super::super::zlib::Deflater;
use super::super::{loose, packing};
use super::{PendingObject, PendingObjects};
use crate::store::StoreError;
use crate::store::error::disk;
use crate::{durable, garage_file};

/// How many files are open at once.
const OPEN: usize = 64;

/// How often a folder is made that somebody else removes.
const TRIES: usize = 5;

impl PendingObjects {
    /// Writes everything that is not in the repository yet. When this returns, it lasts, and so does the content of a file of
    /// the caller's: to sync that along with the others takes one turn of the disk less.
    ///
    /// # Errors
    /// When the disk refuses. What was written by then is seen by nobody who reads a journal.
    pub(in super::super) fn write_loose(
        &self,
        repository: &Repository,
        along: Option<(&Path, &File)>,
    ) -> Result<(), StoreError> {
        let database = repository.odb().map_err(|error| refused("open the objects", &error))?;
        let above = repository.path().join("objects");
        let (mut folders, mut missing) = (BTreeSet::new(), Vec::new());
        for (id, object) in self.order.iter().filter_map(|id| Some((*id, self.objects.get(id)?))) {
            let file = packing::file(&above, id);
            let Some(folder) = file.parent().map(Path::to_owned) else { continue };
            if !is_there(repository, &database, id, object)? {
                folders.insert(folder.clone());
                missing.push((folder, file, object));
            } else if folder.is_dir() {
                // Its writer may have been ended before it synced the name.
                folders.insert(folder);
            }
        }
        let (mut deflater, mut parts, mut written) = (Deflater::fast(), Vec::with_capacity(missing.len()), Vec::new());
        for some in missing.chunks(OPEN) {
            durable::all_at_once(&contents(&written), sync_content)?;
            written.clear();
            // All are written before any is synced: the disk has less to do then.
            for (folder, file, object) in some {
                let (part, content) = TemporaryObject::write(folder, file, object, &mut deflater)?;
                written.push((part.path.clone(), content));
                parts.push(part);
            }
        }
        if parts.iter().any(|part| part.is_folder_new) {
            folders.insert(above);
        }
        let last: Vec<_> = contents(&written).into_iter().chain(along).collect();
        let folders: Vec<PathBuf> = folders.into_iter().collect();
        durable::in_two_steps(
            (&last, sync_content),
            || parts.into_iter().try_for_each(TemporaryObject::name),
            (&folders, |folder| durable::sync_folder(folder).map_err(disk("sync", folder))),
        )
    }
}

impl PendingObjects {
    /// Looks once more for everything that was written, and writes again what somebody has removed.
    pub(in super::super) fn write_what_is_gone(&self, repository: &Repository) -> Result<(), StoreError> {
        let database = repository.odb().map_err(|error| refused("open the objects", &error))?;
        if self.order.iter().all(|id| database.exists(*id)) { Ok(()) } else { self.write_loose(repository, None) }
    }
}

fn contents(files: &[(PathBuf, File)]) -> Vec<(&Path, &File)> {
    files.iter().map(|(path, file)| (path.as_path(), file)).collect()
}

/// Waits until the content of a file is on the disk, whatever its name is.
pub(in super::super) fn sync_content((path, file): &(&Path, &File)) -> Result<(), StoreError> {
    file.sync_all().map_err(disk("sync", path))
}

/// Whether the repository has an object, which is then as it ought to be.
fn is_there(repository: &Repository, database: &Odb<'_>, id: Oid, object: &PendingObject) -> Result<bool, StoreError> {
    if !database.exists_ext(id, OdbLookupFlags::NO_REFRESH) {
        return Ok(false);
    }
    // The library takes a file of the right name for the object, without looking into it.
    loose::ensure_whole(repository, object.kind.str(), id)?;
    match database.read(id) {
        Ok(_) => Ok(true),
        Err(error) => Err(unreadable(repository, object.kind.str(), id, &error)),
    }
}

/// An object under another name, which is removed unless it gets its own.
struct TemporaryObject {
    path: PathBuf,
    to: PathBuf,
    is_folder_new: bool,
    is_named: bool,
}

impl TemporaryObject {
    fn write(
        folder: &Path,
        to: &Path,
        object: &PendingObject,
        deflater: &mut Deflater,
    ) -> Result<(Self, File), StoreError> {
        let header = format!("{} {}\0", object.kind.str(), object.content.len());
        let compressed = deflater.deflated(&[header.as_bytes(), &object.content].concat());
        let mut is_folder_new = false;
        let (path, mut file) = part_in(folder, &mut is_folder_new).map_err(disk("make a file in", folder))?;
        let part = Self { path, to: to.to_owned(), is_folder_new, is_named: false };
        file.write_all(&compressed).map_err(disk("write", &part.path))?;
        Ok((part, file))
    }

    fn name(mut self) -> Result<(), StoreError> {
        // Who else has written it meanwhile has written the same.
        fs::rename(&self.path, &self.to).map_err(disk("name", &self.to))?;
        self.is_named = true;
        Ok(())
    }
}

impl Drop for TemporaryObject {
    fn drop(&mut self) {
        if !self.is_named {
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// A new file with a name that git knows for that of an object which is being written, and removes once it is old.
fn part_in(folder: &Path, is_folder_new: &mut bool) -> io::Result<(PathBuf, File)> {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    garage_file::check_folder(folder)?;
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o444);
    let mut missed = 0;
    loop {
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = folder.join(format!("tmp_obj_{}_{count}", std::process::id()));
        match options.open(&path) {
            Ok(file) => return Ok((path, file)),
            // Left by a program that was ended and had the same number.
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            // Packing by git removes folders that it has emptied, perhaps right now.
            Err(error) if error.kind() == ErrorKind::NotFound && missed < TRIES => {
                missed += 1;
                *is_folder_new = true;
                make_folders(folder.parent().unwrap_or(folder))?;
            }
            Err(error) => return Err(error),
        }
    }
}

/// Makes every folder that an object can lie in: all of them take little longer than the few that one entry needs, and the next
/// entries need others. Their names are not synced.
pub(in super::super) fn make_folders(objects: &Path) -> io::Result<()> {
    (0..=u8::MAX).try_for_each(|first| match fs::create_dir(objects.join(format!("{first:02x}"))) {
        Err(error) if error.kind() != ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    })
}
