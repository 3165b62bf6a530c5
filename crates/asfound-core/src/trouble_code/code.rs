//! The code itself: two or three bytes, or text of another code system.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::value::HexBytes;

/// Why a text is no trouble code.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TroubleCodeError {
    /// Nothing there.
    #[error("a trouble code cannot be empty")]
    Empty,
    /// Longer than any code.
    #[error("`{0}…` is too long for a trouble code")]
    Long(String),
    /// A control character, which no code system uses.
    #[error("a trouble code cannot hold control characters")]
    Control,
}

/// A diagnostic trouble code.
///
/// The forms of SAE J2012 / ISO 15031-6 (from memory): the two highest bits give the
/// letter P, C, B or U, the next two the first digit, then three hexadecimal digits; a third byte,
/// where there is one, is the failure type, written after a dash. Anything else, such as the bare
/// numbers of older cars, is kept as text without guessing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum TroubleCode {
    /// Two bytes, as in `P0135`.
    Two(u16),
    /// Two bytes and the failure type, as in `C0035-11`.
    Three(u16, u8),
    /// Another code system, as text.
    Other(String),
}

impl TroubleCode {
    /// The code of two bytes, as they travel.
    pub fn from_two([high, low]: [u8; 2]) -> Self {
        Self::Two(u16::from_be_bytes([high, low]))
    }

    /// The code of three bytes, as they travel.
    pub fn from_three([high, low, failure]: [u8; 3]) -> Self {
        Self::Three(u16::from_be_bytes([high, low]), failure)
    }

    /// The bytes as they travel: two or three; nothing for another code system, of which no bytes are known.
    pub fn to_bytes(&self) -> Option<HexBytes> {
        match self {
            Self::Two(code) => Some(HexBytes::from(code.to_be_bytes().to_vec())),
            Self::Three(code, failure) => {
                let [high, low] = code.to_be_bytes();
                Some(HexBytes::from(vec![high, low, *failure]))
            }
            Self::Other(_) => None,
        }
    }

    /// The first two bytes; nothing for another code system.
    pub fn base(&self) -> Option<u16> {
        match self {
            Self::Two(code) | Self::Three(code, _) => Some(*code),
            Self::Other(_) => None,
        }
    }

    /// The failure type, which is the third byte where there is one.
    pub fn failure_type(&self) -> Option<u8> {
        match self {
            Self::Three(_, failure) => Some(*failure),
            Self::Two(_) | Self::Other(_) => None,
        }
    }
}

/// Reads `P0135` into its two bytes.
fn parse_base(text: &str) -> Option<u16> {
    let mut characters = text.chars();
    let system = match characters.next()? {
        'P' => 0,
        'C' => 1,
        'B' => 2,
        'U' => 3,
        _ => return None,
    };
    let first = characters.next()?.to_digit(4)?;
    let rest = characters.as_str();
    if rest.len() != 3 || !rest.bytes().all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(&b)) {
        return None;
    }
    let rest = u16::from_str_radix(rest, 16).ok()?;
    Some(system << 14 | u16::try_from(first).ok()? << 12 | rest)
}

impl FromStr for TroubleCode {
    type Err = TroubleCodeError;
    fn from_str(text: &str) -> Result<Self, TroubleCodeError> {
        if text.is_empty() {
            return Err(TroubleCodeError::Empty);
        }
        if text.chars().count() > 32 {
            return Err(TroubleCodeError::Long(text.chars().take(32).collect()));
        }
        if text.chars().any(char::is_control) {
            return Err(TroubleCodeError::Control);
        }
        if let Some((base, failure)) = text.split_once('-') {
            let hexadecimal =
                failure.len() == 2 && failure.bytes().all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(&b));
            if let (Some(base), true) = (parse_base(base), hexadecimal) {
                let failure = u8::from_str_radix(failure, 16).expect("two hexadecimal digits fit a byte");
                return Ok(Self::Three(base, failure));
            }
        }
        Ok(parse_base(text).map_or_else(|| Self::Other(text.to_owned()), Self::Two))
    }
}

impl TryFrom<String> for TroubleCode {
    type Error = TroubleCodeError;
    fn try_from(text: String) -> Result<Self, TroubleCodeError> {
        text.parse()
    }
}

impl From<TroubleCode> for String {
    fn from(code: TroubleCode) -> String {
        code.to_string()
    }
}

impl fmt::Display for TroubleCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let base = |code: u16| {
            let system = ['P', 'C', 'B', 'U'][usize::from(code >> 14)];
            format!("{system}{}{:03X}", code >> 12 & 0b11, code & 0xFFF)
        };
        match self {
            Self::Two(code) => f.pad(&base(*code)),
            Self::Three(code, failure) => f.pad(&format!("{}-{failure:02X}", base(*code))),
            Self::Other(text) => f.pad(text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Text forms given by udsoncan 1.26.1, `udsoncan.common.dtc.Dtc(x).id_iso()`.
    #[test]
    fn text_agrees_with_a_reference_library() {
        assert_eq!(TroubleCode::from_two([0x01, 0x35]).to_string(), "P0135");
        assert_eq!(TroubleCode::from_two([0x96, 0xA1]).to_string(), "B16A1");
        for (bytes, text) in [
            ([0xC0, 0x64, 0x87], "U0064-87"),
            ([0x0E, 0x31, 0x01], "P0E31-01"),
            ([0x01, 0x23, 0x45], "P0123-45"),
            ([0x9A, 0x1B, 0x2C], "B1A1B-2C"),
            ([0x40, 0x01, 0xF0], "C0001-F0"),
        ] {
            assert_eq!(TroubleCode::from_three(bytes).to_string(), text);
            assert_eq!(TroubleCode::from_three(bytes).to_bytes(), Some(HexBytes::from(bytes.to_vec())));
            assert_eq!(TroubleCode::from_three(bytes).failure_type(), Some(bytes[2]));
            assert_eq!(text.parse(), Ok(TroubleCode::from_three(bytes)));
        }
    }

    #[test]
    fn every_two_byte_code_survives_its_text() {
        for number in 0..=u16::MAX {
            let code = TroubleCode::Two(number);
            assert_eq!(code.to_string().parse(), Ok(code));
        }
    }

    #[test]
    fn other_systems_stay_text() {
        for text in ["17158", "P4000", "p0135", "P01356", "C0035-1", "C0035-1g", "Fault 3"] {
            assert_eq!(text.parse(), Ok(TroubleCode::Other(text.to_owned())));
        }
        assert_eq!("".parse::<TroubleCode>(), Err(TroubleCodeError::Empty));
        assert!("a\nb".parse::<TroubleCode>().is_err());
    }
}
