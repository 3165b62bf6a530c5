//! Writing what is handed to somebody else.

use std::io::{self, ErrorKind, Write};
use std::path::Path;

use tempfile::NamedTempFile;

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
    let mut file = begin(path)?;
    let (mut bytes, mut written) = (0, Ok(()));
    put_together(&mut |piece| {
        bytes += piece.len();
        if written.is_ok() {
            written = file.write_all(piece.as_bytes());
        }
    });
    written.map_err(|error| not_written(path, &error))?;
    name(file, path)?;
    Ok(bytes)
}

/// Writes a file of any content that is not there yet.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn write_new_bytes(path: &Path, content: &[u8]) -> Result<(), Failure> {
    let mut file = begin(path)?;
    file.write_all(content).map_err(|error| not_written(path, &error))?;
    name(file, path)
}

fn not_written(path: &Path, error: &io::Error) -> Failure {
    Failure::damaged(format!("{}: {error}", path.display()))
}

fn is_there(path: &Path) -> Failure {
    Failure::usage(format!("{} is there already", path.display())).hint("name a new file")
}

/// Begins a file under another name in the same folder: it gets its own once it is whole, so that nobody finds a part of it.
fn begin(path: &Path) -> Result<NamedTempFile, Failure> {
    // Looked at before the work; nothing is written over in the end either.
    if path.symlink_metadata().is_ok() {
        return Err(is_there(path));
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".asfound-").suffix(".part");
    // As any new file: the system takes away what the user's mask says.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder).map_err(|error| {
        // The error of the library names its own file.
        let why = error
            .raw_os_error()
            .map_or_else(|| error.to_string(), |code| io::Error::from_raw_os_error(code).to_string());
        let why = match error.kind() {
            ErrorKind::NotFound => format!("the folder {} is not there", folder.display()),
            _ => why,
        };
        Failure::usage(format!("{}: {why}", path.display()))
    })
}

/// Gives the file its name. When this returns, it lasts.
fn name(file: NamedTempFile, path: &Path) -> Result<(), Failure> {
    file.as_file().sync_all().map_err(|error| not_written(path, &error))?;
    match file.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(refused) if refused.error.kind() == ErrorKind::AlreadyExists => Err(is_there(path)),
        Err(refused) => Err(not_written(path, &refused.error)),
    }
}
