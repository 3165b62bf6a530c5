//! Random text that keeps contents from being guessed from their hashes.

use std::fmt;

use serde::{Deserialize, Serialize};

/// 128 random bits as 32 lower-case hexadecimal digits.
///
/// A setting has few values; without a salt, whoever sees the hash of an entry could
/// try them all. The bits are handed in, because this crate has no source of chance of its own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Salt(String);

impl Salt {
    /// The bits; nothing where the text is none that this program writes.
    pub fn bits(&self) -> Option<[u8; 16]> {
        let digits = self.0.len() == 32 && self.0.bytes().all(|b| b.is_ascii_hexdigit());
        let bits = digits.then(|| u128::from_str_radix(&self.0, 16).ok()).flatten()?;
        Some(bits.to_be_bytes())
    }
}

impl From<[u8; 16]> for Salt {
    fn from(bits: [u8; 16]) -> Self {
        Self(format!("{:032x}", u128::from_be_bytes(bits)))
    }
}

impl fmt::Display for Salt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
