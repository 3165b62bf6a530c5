//! The name of a record: a data identifier or another named block.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::slug::{SettingName, SlugError};

/// Why a record name was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordNameError {
    /// Neither an identifier nor a slug.
    #[error(
        "invalid record `{text}`: give a data identifier (four upper-case hexadecimal digits, as in 0D01), a local or long identifier (local-1A, long-1F40A0) or the name of a block"
    )]
    Neither {
        /// The name as it was given.
        text: String,
        /// Why it is no slug either.
        #[source]
        source: SlugError,
    },
}

/// An identifier of three or four bytes: a memory address, or an identifier longer than those of ISO 14229-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LongIdentifier {
    /// Three or four.
    bytes: u8,
    number: u32,
}

impl LongIdentifier {
    /// The identifier of these bytes, as they travel; nothing unless there are three or four.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let length = u8::try_from(bytes.len()).ok().filter(|length| (3..=4).contains(length))?;
        Some(Self { bytes: length, number: bytes.iter().fold(0, |number, byte| number << 8 | u32::from(*byte)) })
    }

    /// The identifier of six or eight hexadecimal digits.
    fn from_digits(digits: &str) -> Option<Self> {
        let bytes = match digits.len() {
            6 => 3,
            8 => 4,
            _ => return None,
        };
        Some(Self { bytes, number: hexadecimal(digits)? })
    }
}

impl fmt::Display for LongIdentifier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = 2 * usize::from(self.bytes);
        f.pad(&format!("{:0digits$X}", self.number))
    }
}

/// Names the bytes behind one identifier, or another block of a module.
///
/// Its text form is what journals hold: four upper-case hexadecimal digits for a data identifier (ISO 14229-1), `local-` and two
/// for a local identifier (ISO 14230-3), `long-` and six or eight for one of three or four bytes, and a slug for a block. No
/// slug has a `-` in it, so none can be taken for an identifier. [`FromStr`] takes this form only, because a block of an older
/// journal may be named `f190`; what people and other programs write is read by [`RecordName::written`].
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum RecordName {
    /// A data identifier, 0000 to FFFF.
    Identifier(u16),
    /// A local identifier, 00 to FF.
    Local(u8),
    /// An identifier of three or four bytes.
    Long(LongIdentifier),
    /// Another block, by name.
    Block(SettingName),
}

impl RecordName {
    /// The data identifier, where the record has one.
    pub fn identifier(&self) -> Option<u16> {
        match self {
            Self::Identifier(number) => Some(*number),
            Self::Local(_) | Self::Long(_) | Self::Block(_) => None,
        }
    }

    /// The record that somebody writes: as [`FromStr`], but in capital or small letters, and a data identifier also behind
    /// `0x` or `$`, where leading zeros may be absent.
    ///
    /// Four letters without any digit, as in `fade`, are the name of a block.
    ///
    /// # Errors
    /// When it is neither an identifier nor the name of a block.
    pub fn written(text: &str) -> Result<Self, RecordNameError> {
        let text = text.trim();
        let upper = text.to_ascii_uppercase();
        let prefixed = upper.strip_prefix("0X").or_else(|| upper.strip_prefix('$'));
        let named = text.len() == 4 && text.bytes().all(|byte| byte.is_ascii_lowercase());
        let digits = match prefixed {
            Some(digits) if (1..=4).contains(&digits.len()) => hexadecimal(digits),
            None if text.len() == 4 && !named => hexadecimal(&upper),
            _ => None,
        };
        if let Some(number) = digits.and_then(|number| u16::try_from(number).ok()) {
            return Ok(Self::Identifier(number));
        }
        let folded = upper.split_once('-').map(|(form, digits)| format!("{}-{digits}", form.to_ascii_lowercase()));
        folded.and_then(|folded| marked(&folded)).map_or_else(|| text.parse(), Ok)
    }
}

/// The number of upper-case hexadecimal digits, at most eight.
fn hexadecimal(digits: &str) -> Option<u32> {
    let all = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(&b));
    all.then(|| u32::from_str_radix(digits, 16).ok()).flatten()
}

/// A local or long identifier.
fn marked(text: &str) -> Option<RecordName> {
    match text.split_once('-')? {
        ("local", digits) if digits.len() == 2 => {
            hexadecimal(digits).and_then(|number| u8::try_from(number).ok()).map(RecordName::Local)
        }
        ("long", digits) => LongIdentifier::from_digits(digits).map(RecordName::Long),
        _ => None,
    }
}

impl FromStr for RecordName {
    type Err = RecordNameError;
    fn from_str(text: &str) -> Result<Self, RecordNameError> {
        let identifier = (text.len() == 4).then(|| hexadecimal(text)).flatten();
        if let Some(number) = identifier.and_then(|number| u16::try_from(number).ok()) {
            return Ok(Self::Identifier(number));
        }
        if let Some(marked) = marked(text) {
            return Ok(marked);
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
            Self::Local(number) => f.pad(&format!("local-{number:02X}")),
            Self::Long(identifier) => f.pad(&format!("long-{identifier}")),
            Self::Block(name) => f.pad(name.as_str()),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn tells_identifiers_from_blocks() {
        assert_eq!("0D01".parse(), Ok(RecordName::Identifier(0x0D01)));
        assert_eq!("F190".parse::<RecordName>().unwrap().to_string(), "F190");
        assert!(matches!("fade".parse(), Ok(RecordName::Block(_))));
        // A block of an older journal.
        assert!(matches!("f190".parse(), Ok(RecordName::Block(_))));
        assert_eq!("local-1A".parse(), Ok(RecordName::Local(0x1A)));
        let long = |bytes: &[u8]| RecordName::Long(LongIdentifier::from_bytes(bytes).unwrap());
        assert_eq!("long-001F40".parse(), Ok(long(&[0x00, 0x1F, 0x40])));
        assert_eq!("long-20001F40".parse(), Ok(long(&[0x20, 0x00, 0x1F, 0x40])));
        assert_ne!(long(&[0, 0, 1]), long(&[0, 0, 0, 1]));
        for text in
            ["", "0d01", "0D0", "0D011", "0x0D01", "1A", "local-1a", "local-1", "long-1F40", "long-1F40A", "l-1A"]
        {
            assert!(text.parse::<RecordName>().is_err(), "{text:?}");
        }
        assert_eq!(LongIdentifier::from_bytes(&[1, 2]), None);
    }

    #[test]
    fn what_people_write_is_one_record_in_every_case() {
        for text in ["F190", "f190", "0xF190", "0XF190", "0xf190", "$f190", " f190 "] {
            assert_eq!(RecordName::written(text), Ok(RecordName::Identifier(0xF190)), "{text}");
        }
        assert_eq!(RecordName::written("0xd01"), Ok(RecordName::Identifier(0x0D01)));
        assert_eq!(RecordName::written("Local-1a"), Ok(RecordName::Local(0x1A)));
        assert_eq!(RecordName::written("LONG-1f40a0"), RecordName::written("long-1F40A0"));
        for block in ["fade", "comfort_2", "f1900"] {
            assert!(matches!(RecordName::written(block), Ok(RecordName::Block(_))), "{block}");
        }
        for text in ["1A", "100", "0x", "0x10000", "$", "F19O", "Comfort", "0D 01", "+D01", "0x+1", "é01", "local-"] {
            assert!(RecordName::written(text).is_err(), "{text}");
        }
    }

    proptest! {
        /// What is stored is read back as it is, whatever it is, and written the same way by people.
        #[test]
        fn the_text_form_is_read_back(number in any::<u16>(), local in any::<u8>(), long in prop::collection::vec(any::<u8>(), 3..=4)) {
            let long = RecordName::Long(LongIdentifier::from_bytes(&long).unwrap());
            for name in [RecordName::Identifier(number), RecordName::Local(local), long] {
                let text = name.to_string();
                prop_assert_eq!(text.parse(), Ok(name.clone()));
                prop_assert_eq!(RecordName::written(&text), Ok(name.clone()));
                if text.bytes().any(|byte| byte.is_ascii_digit()) {
                    prop_assert_eq!(RecordName::written(&text.to_lowercase()), Ok(name));
                }
            }
        }
    }
}
