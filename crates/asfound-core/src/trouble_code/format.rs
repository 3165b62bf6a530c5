//! The format identifier that comes with trouble codes.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A text that is no format identifier.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid format identifier `{0}` (expected two hexadecimal digits, as in 01)")]
pub struct CodeFormatError(String);

/// The format identifier of a response with trouble codes (ISO 14229-1): it tells which list the codes belong to.
///
/// It is kept as it was said. Nothing is assumed where a reading does not give it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct CodeFormat(pub u8);

impl CodeFormat {
    /// The list that the identifier names, as in udsoncan 1.26.1, `Dtc.Format`; nothing for one that is not in it.
    pub fn list(self) -> Option<&'static str> {
        Some(match self.0 {
            0 => "ISO 15031-6, SAE J2012",
            1 => "ISO 14229-1",
            2 => "SAE J1939-73",
            3 => "ISO 11992-4",
            4 => "SAE J2012-DA, format 04",
            _ => return None,
        })
    }
}

impl FromStr for CodeFormat {
    type Err = CodeFormatError;
    fn from_str(text: &str) -> Result<Self, CodeFormatError> {
        if text.len() == 2 && text.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Ok(Self(u8::from_str_radix(text, 16).expect("two hexadecimal digits fit a byte")));
        }
        Err(CodeFormatError(text.chars().take(16).collect()))
    }
}

impl TryFrom<String> for CodeFormat {
    type Error = CodeFormatError;
    fn try_from(text: String) -> Result<Self, CodeFormatError> {
        text.parse()
    }
}

impl From<CodeFormat> for String {
    fn from(format: CodeFormat) -> String {
        format.to_string()
    }
}

impl fmt::Display for CodeFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:02X}", self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_identifier_survives_its_text() {
        for byte in 0..=u8::MAX {
            assert_eq!(CodeFormat(byte).to_string().parse(), Ok(CodeFormat(byte)));
        }
        assert!("1".parse::<CodeFormat>().is_err() && "0x1".parse::<CodeFormat>().is_err());
    }
}
