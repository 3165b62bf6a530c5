//! Bytes written as hexadecimal.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The most bytes that one record may have.
///
/// ISO 15765-2 carries messages of 4,095 bytes with its length of 12 bits, and of 2^32 − 1 with the escape sequence. A mebibyte is
/// what messages are put together to from a bus log, and far beyond what modules hold behind one identifier.
pub const MOST_RECORD_BYTES: usize = 1 << 20;

/// Why a text is no hexadecimal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HexError {
    /// An odd number of digits in one group.
    #[error("odd number of hexadecimal digits in `{0}`: two digits make a byte")]
    Odd(String),
    /// A character that is no hexadecimal digit.
    #[error("invalid hexadecimal digit `{0}`")]
    Digit(char),
    /// Longer than any record.
    #[error("{0} bytes are more than a record can have ({MOST_RECORD_BYTES})")]
    Long(usize),
}

/// Bytes; the text form is upper-case hexadecimal with a space between bytes, `03 0F 85`.
///
/// A clone shares the bytes. Reading accepts any grouping by white space as long as each group has an even number of digits.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct HexBytes(Arc<[u8]>);

impl HexBytes {
    /// The bytes.
    pub fn as_slice(&self) -> &[u8] {
        &self.0
    }

    /// The number of bytes.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The bytes as a vector of their own.
    pub fn into_vec(self) -> Vec<u8> {
        self.0.to_vec()
    }
}

impl From<Vec<u8>> for HexBytes {
    fn from(bytes: Vec<u8>) -> Self {
        Self(bytes.into())
    }
}

impl FromStr for HexBytes {
    type Err = HexError;
    fn from_str(text: &str) -> Result<Self, HexError> {
        let mut bytes = Vec::with_capacity(text.len() / 3 + 1);
        for group in text.split_whitespace() {
            if let Some(found) = group.chars().find(|c| !c.is_ascii_hexdigit()) {
                return Err(HexError::Digit(found));
            }
            if group.len() % 2 != 0 {
                return Err(HexError::Odd(group.chars().take(32).collect()));
            }
            let pairs = (0..group.len()).step_by(2).map(|at| &group[at..at + 2]);
            bytes.extend(pairs.map(|pair| u8::from_str_radix(pair, 16).expect("checked to be hexadecimal digits")));
        }
        if bytes.len() > MOST_RECORD_BYTES {
            return Err(HexError::Long(bytes.len()));
        }
        Ok(Self(bytes.into()))
    }
}

impl TryFrom<String> for HexBytes {
    type Error = HexError;
    fn try_from(text: String) -> Result<Self, HexError> {
        text.parse()
    }
}

impl From<HexBytes> for String {
    fn from(bytes: HexBytes) -> String {
        bytes.to_string()
    }
}

impl fmt::Display for HexBytes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // One allocation: a record is shown for every module of every entry.
        let mut text = String::with_capacity(self.0.len() * 3);
        for byte in &*self.0 {
            if !text.is_empty() {
                text.push(' ');
            }
            text.extend([byte >> 4, byte & 0xF].map(|digit| char::from(b"0123456789ABCDEF"[usize::from(digit)])));
        }
        f.pad(&text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_any_grouping() {
        let bytes = HexBytes::from(vec![0x03, 0x0F, 0x85]);
        for text in ["03 0F 85", "030f85", "03 0f85", " 03\t0F\n85 "] {
            assert_eq!(text.parse(), Ok(bytes.clone()));
        }
        assert_eq!(bytes.to_string(), "03 0F 85");
        assert_eq!("".parse(), Ok(HexBytes::default()));
    }

    #[test]
    fn refuses_odd_and_other_digits() {
        assert_eq!("03 F".parse::<HexBytes>(), Err(HexError::Odd("F".into())));
        assert_eq!("0x03".parse::<HexBytes>(), Err(HexError::Digit('x')));
        assert_eq!("00".repeat(5000).parse::<HexBytes>().map(|bytes| bytes.len()), Ok(5000));
        let long = MOST_RECORD_BYTES + 1;
        assert_eq!("00".repeat(long).parse::<HexBytes>(), Err(HexError::Long(long)));
    }
}
