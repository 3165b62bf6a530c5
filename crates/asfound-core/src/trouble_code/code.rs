//! The code itself: two or three bytes, or text of another code system.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
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
/// where there is one, is the failure type, written after a dash. Small letters, the failure type apart or without a dash are
/// spellings of this one form. Anything else, such as the bare numbers of older cars, is kept as text without guessing.
///
/// [`FromStr`] takes every spelling. What a journal holds is taken as it stands there, so that it is written back to the letter: an
/// older one may hold `p0135`. Both are equal all the same.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum TroubleCode {
    /// Two bytes, as in `P0135`.
    Two(u16),
    /// Two bytes and the failure type, as in `C0035-11`.
    Three(u16, u8),
    /// Another code system, as text; or one of these forms in a spelling that an older journal holds.
    Other(String),
}

/// What codes are compared by: the form where it is one of the standard, else the text.
#[derive(PartialEq, Eq, PartialOrd, Ord, Hash)]
enum CodeKey<'a> {
    Two(u16),
    Three(u16, u8),
    Other(&'a str),
}

impl TroubleCode {
    fn key(&self) -> CodeKey<'_> {
        match self {
            Self::Two(code) => CodeKey::Two(*code),
            Self::Three(code, failure) => CodeKey::Three(*code, *failure),
            Self::Other(text) => match spelling(text) {
                Some((code, None)) => CodeKey::Two(code),
                Some((code, Some(failure))) => CodeKey::Three(code, failure),
                None => CodeKey::Other(text),
            },
        }
    }
}

impl PartialEq for TroubleCode {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for TroubleCode {}

impl PartialOrd for TroubleCode {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for TroubleCode {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key().cmp(&other.key())
    }
}

impl Hash for TroubleCode {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.key().hash(state);
    }
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
        let bytes = self.base()?.to_be_bytes().into_iter().chain(self.failure_type());
        Some(HexBytes::from(bytes.collect::<Vec<u8>>()))
    }

    /// The first two bytes; nothing for another code system.
    pub fn base(&self) -> Option<u16> {
        match self.key() {
            CodeKey::Two(code) | CodeKey::Three(code, _) => Some(code),
            CodeKey::Other(_) => None,
        }
    }

    /// The failure type, which is the third byte where there is one.
    pub fn failure_type(&self) -> Option<u8> {
        match self.key() {
            CodeKey::Three(_, failure) => Some(failure),
            CodeKey::Two(_) | CodeKey::Other(_) => None,
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

/// Reads every spelling of a code of two or three bytes: small letters, and the failure type right behind, or behind white
/// space, a dash, a colon, a slash or a point.
fn spelling(text: &str) -> Option<(u16, Option<u8>)> {
    let upper = text.trim().to_ascii_uppercase();
    let (base, rest) = upper.split_at_checked(5)?;
    let base = parse_base(base)?;
    if rest.is_empty() {
        return Some((base, None));
    }
    let apart = |c: char| c.is_whitespace() || matches!(c, '-' | '\u{2010}'..='\u{2013}' | ':' | '/' | '.');
    let failure = rest.trim_start_matches(apart);
    let two_digits = failure.len() == 2 && failure.bytes().all(|byte| byte.is_ascii_hexdigit());
    let failure = two_digits.then(|| u8::from_str_radix(failure, 16).ok()).flatten()?;
    Some((base, Some(failure)))
}

/// Whether a text is a code of any system.
fn check(text: &str) -> Result<(), TroubleCodeError> {
    if text.trim().is_empty() {
        return Err(TroubleCodeError::Empty);
    }
    if text.chars().count() > 32 {
        return Err(TroubleCodeError::Long(text.chars().take(32).collect()));
    }
    if text.chars().any(char::is_control) {
        return Err(TroubleCodeError::Control);
    }
    Ok(())
}

impl FromStr for TroubleCode {
    type Err = TroubleCodeError;
    fn from_str(text: &str) -> Result<Self, TroubleCodeError> {
        check(text)?;
        Ok(match spelling(text) {
            Some((base, None)) => Self::Two(base),
            Some((base, Some(failure))) => Self::Three(base, failure),
            None => Self::Other(text.to_owned()),
        })
    }
}

/// As a journal holds it.
impl TryFrom<String> for TroubleCode {
    type Error = TroubleCodeError;
    fn try_from(text: String) -> Result<Self, TroubleCodeError> {
        let code: Self = text.parse()?;
        Ok(if code.to_string() == text { code } else { Self::Other(text) })
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

    /// The numbers are what udsoncan 1.26.1 makes `B1A04-12` and `U1123-00` of: `Dtc(0x9A0412).id_iso()`, `Dtc(0xD12300).id_iso()`.
    #[test]
    fn spellings_are_one_code() {
        for text in ["B1A04-12", "B1A0412", "b1a04-12", "b1a0412", "B1A04 12", "B1A04:12", "B1A04 - 12", " B1A04–12 "]
        {
            assert!(matches!(text.parse(), Ok(TroubleCode::Three(0x9A04, 0x12))), "{text}");
        }
        assert!(matches!("U1123 00".parse(), Ok(TroubleCode::Three(0xD123, 0x00))));
        assert!(matches!("p0135".parse(), Ok(TroubleCode::Two(0x0135))));
        assert_ne!("U1123 00".parse::<TroubleCode>(), "U1123".parse::<TroubleCode>());
    }

    /// What an older journal holds is written back to the letter, and is the same code all the same.
    #[test]
    fn what_a_journal_holds_stays_as_it_is() {
        let old = TroubleCode::try_from("p0135".to_owned()).unwrap();
        let new: TroubleCode = "P0135".parse().unwrap();
        assert_eq!(String::from(old.clone()), "p0135");
        assert_eq!(old, new);
        assert_eq!((old.cmp(&new), old.base(), old.system()), (Ordering::Equal, new.base(), new.system()));
        let codes = std::collections::HashSet::from([old, new]);
        assert_eq!(codes.len(), 1);
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
        for text in
            ["17158", "P4000", "P01356", "C0035-1", "C0035-1g", "Fault 3", "P013 5", "C0035 111", "C0035é1", "-P0135"]
        {
            let code = text.parse().unwrap();
            assert!(matches!(&code, TroubleCode::Other(kept) if kept == text), "{code:?}");
            assert_eq!((code.base(), code.failure_type(), code.to_bytes()), (None, None, None));
        }
        assert_eq!("".parse::<TroubleCode>(), Err(TroubleCodeError::Empty));
        assert!("a\nb".parse::<TroubleCode>().is_err());
    }
}
