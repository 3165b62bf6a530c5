//! Loose objects that were cut short.

use std::io::ErrorKind;
use std::path::Path;

use git2::{Oid, Repository};

use super::{transfer, zlib};
use crate::garage_file;
use crate::store::StoreError;

/// Fails where the file of a loose object ends before its compressed contents do.
///
/// libgit2 1.9.7 reads such a file for ever (its issue 7342, mended after that version), so that
/// this must come before every reading of an object. Anything else that may be wrong with an object
/// is left to the library, and so are packed objects, for which there is no such file.
pub(super) fn ensure_whole(repository: &Repository, kind: &str, id: Oid) -> Result<(), StoreError> {
    let digits = id.to_string();
    transfer::object_folders(repository.path())
        .try_for_each(|objects| ensure_whole_at(&objects.join(&digits[..2]).join(&digits[2..]), kind, id))
}

fn ensure_whole_at(path: &Path, kind: &str, id: Oid) -> Result<(), StoreError> {
    let compressed = match garage_file::read_at_most(path, u64::MAX) {
        Ok(compressed) => compressed,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(source) => return Err(StoreError::Disk { doing: "read the object", path: path.to_owned(), source }),
    };
    match zlib::inflated(&compressed) {
        Some(_) => Ok(()),
        None => Err(StoreError::Damaged {
            object: format!("{kind} {id}"),
            detail: format!("its file {} is cut short or overwritten", path.display()),
        }),
    }
}
