//! The name of a record: a data identifier or another named block.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::slug::{SettingName, SlugError};

/// Why a record name was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordNameError {
    /// Neither four hexadecimal digits nor a slug.
    #[error(
        "`{text}` is no record: give a data identifier (four upper-case hexadecimal digits, as in 0D01) or the name of a block"
    )]
    Neither {
        /// The name as it was given.
        text: String,
        /// Why it is no slug either.
        #[source]
        source: SlugError,
    },
}

/// Names the bytes behind one data identifier (ISO 14229-1), written as four
/// upper-case hexadecimal digits, or another block of a module, written as a slug.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum RecordName {
    /// A data identifier, 0000 to FFFF.
    Identifier(u16),
    /// Another block, by name.
    Block(SettingName),
}

impl RecordName {
    /// The data identifier, where the record has one.
    pub fn identifier(&self) -> Option<u16> {
        match self {
            Self::Identifier(number) => Some(*number),
            Self::Block(_) => None,
        }
    }
}

impl FromStr for RecordName {
    type Err = RecordNameError;
    fn from_str(text: &str) -> Result<Self, RecordNameError> {
        let upper_hex = |b: u8| b.is_ascii_digit() || (b'A'..=b'F').contains(&b);
        if text.len() == 4 && text.bytes().all(upper_hex) {
            let number = u16::from_str_radix(text, 16).expect("four hexadecimal digits fit sixteen bits");
            return Ok(Self::Identifier(number));
        }
        text.parse()
            .map(Self::Block)
            .map_err(|source| RecordNameError::Neither { text: text.chars().take(64).collect(), source })
    }
}

impl TryFrom<String> for RecordName {
    type Error = RecordNameError;
    fn try_from(text: String) -> Result<Self, RecordNameError> {
        text.parse()
    }
}

impl From<RecordName> for String {
    fn from(name: RecordName) -> String {
        name.to_string()
    }
}

impl fmt::Display for RecordName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Identifier(number) => f.pad(&format!("{number:04X}")),
            Self::Block(name) => f.pad(name.as_str()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tells_identifiers_from_blocks() {
        assert_eq!("0D01".parse(), Ok(RecordName::Identifier(0x0D01)));
        assert_eq!("F190".parse::<RecordName>().unwrap().to_string(), "F190");
        assert!(matches!("fade".parse(), Ok(RecordName::Block(_))));
        for text in ["", "0d01", "0D0", "0D011", "0x0D01"] {
            assert!(text.parse::<RecordName>().is_err(), "{text:?}");
        }
    }
}
