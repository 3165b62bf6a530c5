//! The path of a file within an entry.

use std::borrow::Borrow;
use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// The longest part of a path, in bytes: what common file systems allow.
const LONGEST_PART: usize = 255;
/// The longest path, in bytes: above it `git fsck` remarks on the path.
const LONGEST_PATH: usize = 4096;

/// Why a path was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum FilePathError {
    /// The path, or a part between two slashes, has no characters.
    #[error("invalid path `{0}`: there must be a name before, between and after its slashes")]
    EmptyPart(String),
    /// A part starts with a dot, or there are two dots in a row.
    #[error("`{0}` is not allowed as a path: no part may start with a dot, and `..` may not occur")]
    Dots(String),
    /// The path holds a character outside the alphabet.
    #[error("`{path}` is not allowed as a path: `{found}` is not among a to z, A to Z, 0 to 9, `-`, `_`, `.` and `/`")]
    Character {
        /// The path as it was given, cut short.
        path: String,
        /// The first character that is not allowed.
        found: char,
    },
    /// The path, or a part of it, is too long.
    #[error("a path of {0} bytes is too long: {LONGEST_PART} for a part and {LONGEST_PATH} in all are allowed")]
    TooLong(usize),
}

/// The path of a file within an entry, such as `modules/body.toml`.
///
/// Letters, digits, `-`, `_` and `.`, in parts joined by `/`. This keeps a path the same
/// in a git tree, in a `sha256sum` line (nothing to escape) and on any file system.
/// Ordered by bytes. File names from elsewhere are mapped by whoever takes them in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FilePath(String);

impl FilePath {
    /// The path as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// The start of a path, enough to recognise it in a message.
fn shown(path: &str) -> String {
    path.chars().take(80).collect()
}

impl FromStr for FilePath {
    type Err = FilePathError;
    fn from_str(path: &str) -> Result<Self, FilePathError> {
        if path.len() > LONGEST_PATH {
            return Err(FilePathError::TooLong(path.len()));
        }
        let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/');
        if let Some(found) = path.chars().find(|&c| !allowed(c)) {
            return Err(FilePathError::Character { path: shown(path), found });
        }
        for part in path.split('/') {
            if part.is_empty() {
                return Err(FilePathError::EmptyPart(shown(path)));
            }
            if part.starts_with('.') || part.contains("..") {
                return Err(FilePathError::Dots(shown(path)));
            }
            if part.len() > LONGEST_PART {
                return Err(FilePathError::TooLong(part.len()));
            }
        }
        Ok(Self(path.to_owned()))
    }
}

impl TryFrom<String> for FilePath {
    type Error = FilePathError;
    fn try_from(path: String) -> Result<Self, FilePathError> {
        path.parse()
    }
}

impl From<FilePath> for String {
    fn from(path: FilePath) -> String {
        path.0
    }
}

// A path hashes and compares as its text does, so that a map can be asked by text.
impl Borrow<str> for FilePath {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for FilePath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accepts_paths_of_the_alphabet() {
        for path in ["entry.toml", "manifest", "modules/body.toml", "evidence/Log_1-a.b.c", "a/b/c/d", "x."] {
            assert_eq!(path.parse::<FilePath>().unwrap().as_str(), path);
        }
    }

    #[test]
    fn refuses_what_could_leave_the_entry_or_need_escaping() {
        let refused = [
            "", "/", "/a", "a/", "a//b", ".", "..", "a/..", "../a", "a/../b", "a..b", ".git", "a/.git", "a\\b", "a b",
            "a\n", "a\0", "ä", "a:b", "a~1", "a*",
        ];
        for path in refused {
            assert!(path.parse::<FilePath>().is_err(), "{path:?}");
        }
        assert!("a".repeat(255).parse::<FilePath>().is_ok());
        assert_eq!("a".repeat(256).parse::<FilePath>(), Err(FilePathError::TooLong(256)));
        assert_eq!("a/".repeat(2049).parse::<FilePath>(), Err(FilePathError::TooLong(4098)));
    }
}
