//! The files that are kept in a garage by name.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::GarageError;
use crate::{durable, garage_file};

/// No definition, mapping or table comes near this.
const LARGEST: u64 = 1 << 28;

/// A file that is kept in a garage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptFile {
    /// Where it lies.
    pub path: PathBuf,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// The files with one of these endings in a folder, sorted by path; none where there is no folder.
pub(super) fn list(folder: &Path, endings: &[&str]) -> Result<Vec<KeptFile>, GarageError> {
    let disk = |doing, path: &Path| {
        let path = path.to_owned();
        move |source| GarageError::Disk { doing, path, source }
    };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(disk("list", folder)(error)),
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(disk("list", folder))?.path();
        let is_wanted = path.extension().is_some_and(|it| endings.iter().any(|ending| it == *ending));
        // A leading dot marks what an editor, or a write that was cut off, left behind.
        let is_hidden = path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        if is_wanted && !is_hidden && !path.is_dir() {
            let bytes = garage_file::read_at_most(&path, LARGEST).map_err(disk("read", &path))?;
            files.push(KeptFile { path, bytes });
        }
    }
    files.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(files)
}

/// Keeps a file in a folder, in place of an earlier one of that name.
pub(super) fn keep(folder: &Path, name: &str, bytes: &[u8]) -> Result<PathBuf, GarageError> {
    let path = folder.join(name);
    durable::make_folder(folder)
        .and_then(|()| durable::write_file(folder, name, bytes))
        .map_err(|source| GarageError::Disk { doing: "write", path: path.clone(), source })?;
    Ok(path)
}
