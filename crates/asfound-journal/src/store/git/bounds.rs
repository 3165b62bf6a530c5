//! How much one entry may hold before it is taken for one that was made to harm whoever reads it.
//!
//! A tree that names itself in ten folders, or a file of one letter, is a few bytes in a pack and more than a memory once it is read.

use git2::{Odb, Oid, Repository};

use super::object_error::refused;
use super::transfer;
use crate::store::StoreError;

/// The most bytes of one file: twice the largest that is attached.
pub(super) const LARGEST: usize = 128 << 20;
/// The most files and folders of one listing.
const MOST: usize = 1 << 18;
/// The most bytes of all their paths.
const PATHS: usize = 1 << 26;

/// What is left of the bounds while one listing is gone through.
pub(super) struct ListingBounds {
    entries: usize,
    paths: usize,
}

impl Default for ListingBounds {
    fn default() -> Self {
        Self { entries: MOST, paths: PATHS }
    }
}

impl ListingBounds {
    /// Counts one more file or folder of the listing in which `tree` is.
    pub(super) fn count(&mut self, tree: Oid, path: &str) -> Result<(), StoreError> {
        let left = self.entries.checked_sub(1).zip(self.paths.checked_sub(path.len()));
        let Some((entries, paths)) = left else {
            let detail = format!("it lists more than the {MOST} files and folders that an entry may have");
            return Err(StoreError::OddTree { object: format!("tree {tree}"), detail });
        };
        (self.entries, self.paths) = (entries, paths);
        Ok(())
    }
}

/// Fails where an object that was fetched says that it is larger than a file of an entry may be. One that cannot be looked up is
/// told of by whoever reads it.
///
/// Only what lies in a repository for an exchange is asked for its size: git has indexed that just now. Of a damaged pack the
/// binding of the library panics where it is asked (git2 0.21, `Odb::read_header` with a type that is none).
pub(super) fn check_size(repository: &Repository, kind: &str, id: Oid) -> Result<(), StoreError> {
    if !repository.path().ends_with(transfer::NAME) {
        return Ok(());
    }
    let failed = |error: git2::Error| refused("look at the size of what was fetched", &error);
    let fetched = Odb::new().map_err(failed)?;
    let objects = repository.path().join("objects");
    // By itself, without what lies behind it. A path that is no text is none that git took.
    let Some(objects) = objects.to_str() else { return Ok(()) };
    fetched.add_disk_alternate(objects).map_err(failed)?;
    match fetched.read_header(id) {
        Ok((size, _)) if size > LARGEST => Err(too_large(kind, id, size)),
        _ => Ok(()),
    }
}

/// That an object is larger than it may be.
fn too_large(kind: &str, id: Oid, size: usize) -> StoreError {
    let detail = format!("it has {size} bytes, more than the {LARGEST} that a file of an entry may have");
    StoreError::Damaged { object: format!("{kind} {id}"), detail }
}
