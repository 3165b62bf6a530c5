//! Pipes, devices and other repositories where a repository has its own files.
//!
//! The library waits for a pipe for ever, and follows `commondir` into another repository, whose references it then writes.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use git2::Repository;

use crate::store::StoreError;
use crate::store::error::disk;

/// The single files that the library reads by itself.
const READ: [&str; 7] =
    ["HEAD", "config", "packed-refs", "shallow", "info/grafts", "objects/info/alternates", "commondir"];

/// Fails where one of the single files of a repository, or one of its packs, is no regular file.
pub(super) fn check(repository: &Path) -> Result<(), StoreError> {
    READ.iter().try_for_each(|name| check_file(&repository.join(name)))?;
    let packs = repository.join("objects/pack");
    // What is no folder is told of by whoever writes to it, and of its objects none is found.
    let Ok(entries) = fs::read_dir(&packs) else { return Ok(()) };
    for entry in entries {
        check_file(&entry.map_err(disk("list", &packs))?.path())?;
    }
    Ok(())
}

/// Fails where something is there that is neither a file nor a folder.
pub(super) fn check_file(path: &Path) -> Result<(), StoreError> {
    match fs::metadata(path) {
        Ok(found) if !found.is_file() && !found.is_dir() => {
            Err(StoreError::Damaged { object: path.display().to_string(), detail: "it is no regular file".to_owned() })
        }
        Err(error) if error.kind() != ErrorKind::NotFound => Err(disk("look at", path)(error)),
        _ => Ok(()),
    }
}

/// Fails where a repository has its references in another one.
pub(super) fn check_own_references(repository: &Repository) -> Result<(), StoreError> {
    if repository.commondir() == repository.path() {
        return Ok(());
    }
    Err(StoreError::Damaged {
        object: format!("the repository {}", repository.path().display()),
        detail: "its file `commondir` leads to another repository".to_owned(),
    })
}
