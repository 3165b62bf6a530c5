//! What keeps one file of an entry from being guessed when another is disclosed.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::manifest::Manifest;
use crate::{Digest, FilePath};

/// The path of the file that holds the blind.
pub const BLIND_PATH: &str = "blind";

/// Why a text is no blind.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the file `{BLIND_PATH}` must hold 64 lower-case hexadecimal digits and a line end")]
pub struct BlindError;

/// 256 random bits of an entry, from which each line of its manifest gets a blind of its own.
///
/// The leaf of an entry is made of one hash for each line of its manifest. Many files are guessable (a module
/// has few settings, a definition is known to many), so a bare hash of a line would give the file away to whoever tries.
/// With the line's own blind it does not; and the blind of one line tells nothing of another's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Blind([u8; 32]);

impl Blind {
    /// The blind of the manifest line for `path`: SHA-256(blind ‖ path).
    pub fn of_path(&self, path: &FilePath) -> Digest {
        Digest::of(&[self.0.as_slice(), path.as_str().as_bytes()].concat())
    }

    /// The data of the entry's leaf: for each line of the manifest, in its order, the hash of [`line_hash`].
    pub fn leaf_data(&self, manifest: &Manifest) -> Vec<u8> {
        manifest.iter().flat_map(|(path, digest)| *line_hash(&self.of_path(path), path, digest).as_bytes()).collect()
    }
}

/// The hash of one manifest line under its blind: SHA-256(line's blind ‖ line), the line with its LF.
pub fn line_hash(blind: &Digest, path: &FilePath, digest: &Digest) -> Digest {
    let line = format!("{digest}  {path}\n");
    Digest::of(&[blind.as_bytes().as_slice(), line.as_bytes()].concat())
}

impl From<[u8; 32]> for Blind {
    fn from(bits: [u8; 32]) -> Self {
        Self(bits)
    }
}

impl FromStr for Blind {
    type Err = BlindError;
    fn from_str(text: &str) -> Result<Self, BlindError> {
        let digest: Digest = text.strip_suffix('\n').ok_or(BlindError)?.parse().map_err(|_| BlindError)?;
        Ok(Self(*digest.as_bytes()))
    }
}

/// The content of the file: the digits and a line end.
impl fmt::Display for Blind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", Digest::from(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_text_is_read_back() {
        let blind = Blind::from([0xA5; 32]);
        assert_eq!(blind.to_string().parse(), Ok(blind));
        assert_eq!("a5".parse::<Blind>(), Err(BlindError));
        assert_eq!("a5".repeat(32).parse::<Blind>(), Err(BlindError));
    }

    #[test]
    fn every_line_has_a_blind_of_its_own_and_counts() {
        let path = |text: &str| text.parse::<FilePath>().unwrap();
        let mut manifest = Manifest::new();
        manifest.insert(path("entry.toml"), Digest::of(b"a"));
        manifest.insert(path("modules/body.toml"), Digest::of(b"a"));
        let blind = Blind::from([7; 32]);
        let leaf = blind.leaf_data(&manifest);
        assert_eq!(leaf.len(), 64);
        assert_ne!(leaf[..32], leaf[32..]);
        assert_ne!(Blind::from([8; 32]).leaf_data(&manifest), leaf);
        manifest.insert(path("modules/body.toml"), Digest::of(b"b"));
        let other = blind.leaf_data(&manifest);
        assert_eq!((other[..32] == leaf[..32], other[32..] == leaf[32..]), (true, false));
    }
}
