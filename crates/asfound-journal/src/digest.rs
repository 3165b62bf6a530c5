//! A SHA-256 digest.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use thiserror::Error;

/// Why a text was refused as a digest.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid SHA-256 digest `{0}` (expected 64 lower-case hexadecimal digits)")]
pub struct DigestError(String);

/// A SHA-256 digest (FIPS 180-4), written as 64 lower-case hexadecimal digits.
///
/// There is one spelling only, so that texts which hold digests can be compared
/// and hashed themselves.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

impl Digest {
    /// The digest of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// The digest of several pieces, one after the other.
    pub(crate) fn of_parts(parts: &[&[u8]]) -> Self {
        let mut hasher = Sha256::new();
        for part in parts {
            hasher.update(part);
        }
        Self(hasher.finalize().into())
    }

    /// The 32 bytes of the digest.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl From<[u8; 32]> for Digest {
    fn from(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

impl FromStr for Digest {
    type Err = DigestError;
    fn from_str(text: &str) -> Result<Self, DigestError> {
        let refused = || DigestError(text.chars().take(72).collect());
        if text.len() != 64 {
            return Err(refused());
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let high = nibble(pair[0]).ok_or_else(refused)?;
            let low = nibble(pair[1]).ok_or_else(refused)?;
            *byte = high << 4 | low;
        }
        Ok(Self(bytes))
    }
}

fn nibble(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        _ => None,
    }
}

impl TryFrom<String> for Digest {
    type Error = DigestError;
    fn try_from(text: String) -> Result<Self, DigestError> {
        text.parse()
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> String {
        digest.to_string()
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::with_capacity(64);
        for byte in self.0 {
            for nibble in [byte >> 4, byte & 0xF] {
                text.push(char::from(b"0123456789abcdef"[usize::from(nibble)]));
            }
        }
        f.pad(&text)
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The digests of "abc" and of the 448-bit message, from NIST's examples for FIPS 180-4.
    #[test]
    fn agrees_with_the_published_examples() {
        let cases = [
            ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
        ];
        for (message, digest) in cases {
            assert_eq!(Digest::of(message.as_bytes()).to_string(), digest);
            assert_eq!(digest.parse(), Ok(Digest::of(message.as_bytes())));
        }
        assert_eq!(Digest::of_parts(&[b"a", b"", b"bc"]), Digest::of(b"abc"));
    }

    #[test]
    fn has_one_spelling_only() {
        let good = Digest::of(b"").to_string();
        for bad in [String::new(), good.to_uppercase(), format!(" {good}"), good[1..].to_owned(), format!("{good}0")] {
            assert!(bad.parse::<Digest>().is_err(), "{bad:?}");
        }
        assert!("é".repeat(32).parse::<Digest>().is_err());
    }
}
