//! Files that people name, read up to a limit: `/dev/zero` has no end, and says that it is empty.

use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::Path;

/// The most bytes of a text that somebody wrote: a definition, a list, a proof, a table of descriptions.
pub const LARGEST_TEXT: u64 = 64 * 1024 * 1024;

/// Reads a file, or a pipe, of at most `limit` bytes.
///
/// # Errors
/// When it cannot be read, or has more.
pub fn read_bounded(path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let file = File::open(path)?;
    let said = file.metadata().map_or(0, |found| found.len());
    let mut bytes = Vec::new();
    if said <= limit {
        file.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
        if bytes.len() as u64 <= limit {
            return Ok(bytes);
        }
    }
    Err(io::Error::new(ErrorKind::FileTooLarge, format!("it is too large (limit {limit} bytes)")))
}

/// The same of a text.
///
/// # Errors
/// When it cannot be read, has more, or is no UTF-8.
pub fn read_bounded_text(path: &Path) -> io::Result<String> {
    let bytes = read_bounded(path, LARGEST_TEXT)?;
    String::from_utf8(bytes).map_err(|_| io::Error::new(ErrorKind::InvalidData, "it is not UTF-8 text"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_end_is_not_read_to_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file");
        std::fs::write(&path, "12345678").unwrap();
        assert_eq!(read_bounded(&path, 8).unwrap(), b"12345678");
        assert_eq!(read_bounded(&path, 7).unwrap_err().kind(), ErrorKind::FileTooLarge);
        assert!(read_bounded_text(&path).is_ok());
        std::fs::write(&path, b"\xFF").unwrap();
        assert_eq!(read_bounded_text(&path).unwrap_err().kind(), ErrorKind::InvalidData);
        if cfg!(target_os = "linux") {
            assert_eq!(read_bounded(Path::new("/dev/zero"), 1 << 16).unwrap_err().kind(), ErrorKind::FileTooLarge);
            assert_eq!(read_bounded(Path::new("/dev/null"), 1 << 16).unwrap(), b"");
        }
    }
}
