//! Writing what is handed to somebody else.

use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use crate::failure::Failure;

/// Writes a file that is not there yet.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn write_new(path: &Path, text: &str) -> Result<(), Failure> {
    write_new_bytes(path, text.as_bytes())
}

/// Hands text over piece by piece, while it puts it together.
pub type InPieces<'p> = dyn FnMut(&mut dyn FnMut(&str)) + 'p;

/// Writes a file that is not there yet piece by piece, as `put_together` hands them over; how many bytes it has.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn write_new_in_pieces(path: &Path, put_together: &mut InPieces<'_>) -> Result<usize, Failure> {
    let mut file = create_new(path)?;
    let (mut bytes, mut written) = (0, Ok(()));
    put_together(&mut |piece| {
        bytes += piece.len();
        if written.is_ok() {
            written = file.write_all(piece.as_bytes());
        }
    });
    written.map_err(|error| not_written(path, &error))?;
    Ok(bytes)
}

/// Writes a file of any content that is not there yet.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn write_new_bytes(path: &Path, content: &[u8]) -> Result<(), Failure> {
    create_new(path)?.write_all(content).map_err(|error| not_written(path, &error))
}

fn not_written(path: &Path, error: &io::Error) -> Failure {
    Failure::damaged(format!("{}: {error}", path.display()))
}

fn create_new(path: &Path) -> Result<File, Failure> {
    OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            Failure::usage(format!("{} is there already", path.display())).hint("name a new file")
        }
        _ => Failure::usage(format!("{}: {error}", path.display())),
    })
}
