//! Reads the text of a manifest.

use std::str::FromStr;

use thiserror::Error;

use super::{MANIFEST_PATH, Manifest};
use crate::{Digest, DigestError, FilePath, FilePathError};

/// Why a text was refused as a manifest. Lines are numbered from 1.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ManifestError {
    /// The last line lacks its line feed: the text may be cut short.
    #[error("line {line} of the manifest has no line feed at its end: the text may be cut short")]
    Unfinished {
        /// The line.
        line: usize,
    },
    /// There are no two spaces after the digest.
    #[error("line {line} of the manifest is not a digest, two spaces and a path")]
    Form {
        /// The line.
        line: usize,
    },
    /// The digest is not well formed.
    #[error("line {line} of the manifest: {source}")]
    Digest {
        /// The line.
        line: usize,
        /// What is wrong with the digest.
        source: DigestError,
    },
    /// The path is not allowed.
    #[error("line {line} of the manifest: {source}")]
    Path {
        /// The line.
        line: usize,
        /// What is wrong with the path.
        source: FilePathError,
    },
    /// The path does not come after the one before, or comes twice.
    #[error("line {line} of the manifest: `{path}` is out of order: lines are sorted by path, each path once")]
    Order {
        /// The line.
        line: usize,
        /// The path.
        path: FilePath,
    },
    /// The manifest lists itself.
    #[error("line {line} of the manifest lists the manifest itself")]
    Itself {
        /// The line.
        line: usize,
    },
}

/// Strict: only the exact text that this crate makes for the same files is accepted.
impl FromStr for Manifest {
    type Err = ManifestError;
    fn from_str(text: &str) -> Result<Self, ManifestError> {
        let mut manifest = Self::new();
        let mut before: Option<FilePath> = None;
        for (index, whole) in text.split_inclusive('\n').enumerate() {
            let line = index + 1;
            let content = whole.strip_suffix('\n').ok_or(ManifestError::Unfinished { line })?;
            let (digest, path) = content.split_once("  ").ok_or(ManifestError::Form { line })?;
            let digest: Digest = digest.parse().map_err(|source| ManifestError::Digest { line, source })?;
            let path: FilePath = path.parse().map_err(|source| ManifestError::Path { line, source })?;
            if path.as_str() == MANIFEST_PATH {
                return Err(ManifestError::Itself { line });
            }
            if before.as_ref().is_some_and(|before| *before >= path) {
                return Err(ManifestError::Order { line, path });
            }
            manifest.insert(path.clone(), digest);
            before = Some(path);
        }
        Ok(manifest)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn what_is_made_is_read_back(
            files in prop::collection::btree_map("[a-zA-Z0-9_-][a-z.]{0,3}[a-z](/[A-Z0-9_-]{1,3}){0,2}", ".*", 0..12)
        ) {
            let files: BTreeMap<FilePath, String> = files
                .into_iter()
                .filter_map(|(path, content)| Some((path.parse().ok()?, content)))
                .collect();
            let manifest = Manifest::over(files.iter().map(|(path, content)| (path, content.as_bytes())));
            prop_assert_eq!(manifest.to_string().parse::<Manifest>(), Ok(manifest));
        }

        #[test]
        fn what_is_read_is_the_text_that_would_be_made(text in "([0-9a-f]{64}  [a-c./]{1,3}\n){0,4}") {
            if let Ok(manifest) = text.parse::<Manifest>() {
                prop_assert_eq!(manifest.to_string(), text);
            }
        }
    }

    #[test]
    fn anything_else_is_refused_with_its_line() {
        let d = Digest::of(b"");
        let first = format!("{d}  b\n");
        let cases = [
            (format!("{first}{d}  c"), ManifestError::Unfinished { line: 2 }),
            (format!("{first}\n"), ManifestError::Form { line: 2 }),
            (format!("{d} *b\n"), ManifestError::Form { line: 1 }),
            (format!("{first}{d}  a\n"), ManifestError::Order { line: 2, path: "a".parse().unwrap() }),
            (format!("{first}{first}"), ManifestError::Order { line: 2, path: "b".parse().unwrap() }),
            (format!("{first}{d}  manifest\n"), ManifestError::Itself { line: 2 }),
        ];
        for (text, error) in cases {
            assert_eq!(text.parse::<Manifest>(), Err(error), "{text:?}");
        }
        let upper = format!("{}  a\n", d.to_string().to_uppercase());
        assert!(matches!(upper.parse::<Manifest>(), Err(ManifestError::Digest { line: 1, .. })));
        let carriage = format!("{d}  a\r\n");
        assert!(matches!(carriage.parse::<Manifest>(), Err(ManifestError::Path { line: 1, .. })));
        assert_eq!("".parse::<Manifest>(), Ok(Manifest::new()));
    }
}
