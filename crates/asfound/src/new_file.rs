//! Writing what is handed to somebody else.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

use crate::failure::Failure;

/// Writes a file that is not there yet.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn write_new(path: &Path, text: &str) -> Result<(), Failure> {
    write_new_bytes(path, text.as_bytes())
}

/// Writes a file of any content that is not there yet.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn write_new_bytes(path: &Path, content: &[u8]) -> Result<(), Failure> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            Failure::usage(format!("{} is there already", path.display())).hint("name a new file")
        }
        _ => Failure::usage(format!("{}: {error}", path.display())),
    })?;
    file.write_all(content).map_err(|error| Failure::damaged(format!("{}: {error}", path.display())))
}
