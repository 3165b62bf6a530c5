//! The short code of a work sheet, by which filing finds out whether the steps are still those that were carried out.

use std::fmt;
use std::fmt::Write as _;
use std::str::FromStr;

use sha2::{Digest, Sha256};
use thiserror::Error;

use super::{SavedStep, SavedWrite};
use crate::base32::{character, check_symbol, checks, symbol};
use crate::names::Tag;
use crate::value::{BitMask, HexBytes};

/// What the text begins with that the code is made of.
const FORM: &str = "asfound-sheet/1";

/// How many characters tell the digest, five bits each.
const LENGTH: usize = 7;

/// Why a text cannot be the code of a work sheet.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SheetCodeError {
    /// A character that no code has.
    #[error("the code of a work sheet has no `{0}`")]
    Character(char),
    /// It is too short or too long.
    #[error("the code of a work sheet has 8 characters, here are {found}")]
    Length {
        /// How many there are.
        found: usize,
    },
    /// Its check character does not fit.
    #[error("there is a typing error in the code: a character is wrong, or two are swapped")]
    Typo,
}

/// A code over everything that a work sheet asks for: the vehicle, and of each step in its order the module, the record
/// or setting, what to look for, what to write and what to find afterwards, bits that change by themselves apart.
///
/// Seven characters tell the first 35 bits of a SHA-256 digest, and the eighth checks them: it catches every wrong
/// character and every swap of neighbours. Other steps have the same code by chance once in 34 thousand million times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SheetCode([u8; LENGTH]);

impl SheetCode {
    /// The code of the sheet with these steps.
    pub fn of(vehicle: &Tag, steps: &[SavedStep]) -> Self {
        let mut text = format!("{FORM}\n{vehicle}\n");
        for step in steps {
            let _ = writeln!(text, "{}", line(step));
        }
        let digest = Sha256::digest(text.as_bytes());
        let bits = digest.iter().take(5).fold(0u64, |bits, byte| bits << 8 | u64::from(*byte)) >> 5;
        let mut symbols = [0; LENGTH];
        for (at, symbol) in symbols.iter_mut().rev().enumerate() {
            *symbol = (bits >> (5 * at) & 31).to_le_bytes()[0];
        }
        Self(symbols)
    }
}

/// One step in a line: place, what to look for, what to write and to find, and the bits that are left out of both; a dash
/// where there is nothing. Values by name are written as the hexadecimal of their UTF-8, so that they can hold anything.
pub(super) fn line(step: &SavedStep) -> String {
    let or_dash = |text: Option<String>| text.unwrap_or_else(|| "-".to_owned());
    let (expect, write, volatile) = match &step.write {
        SavedWrite::Record { expect, write, volatile, .. } => {
            let plain = |bytes: &HexBytes| digits(&without(bytes, volatile));
            let mask: Vec<u8> = (0..write.len()).map(|at| volatile.byte(at)).collect();
            let mask = (!volatile.is_empty()).then(|| digits(&mask));
            (expect.as_ref().map(plain), plain(write), mask)
        }
        SavedWrite::Setting { expect, write, .. } => {
            (expect.as_ref().map(|text| digits(text.as_bytes())), digits(write.as_bytes()), None)
        }
    };
    format!("{} {} {write} {}", step.place(), or_dash(expect), or_dash(volatile))
}

/// Bytes without the bits that change by themselves.
fn without(bytes: &HexBytes, volatile: &BitMask) -> Vec<u8> {
    bytes.as_slice().iter().enumerate().map(|(at, byte)| byte & !volatile.byte(at)).collect()
}

fn digits(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02X}");
        text
    })
}

/// Two groups of four: `7Q4M-9X2F`.
impl fmt::Display for SheetCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let symbols = self.0.iter().copied().chain([check_symbol(&self.0)]);
        let mut text: String = symbols.map(character).collect();
        text.insert(4, '-');
        f.pad(&text)
    }
}

/// Large or small letters, spaces and dashes do not matter; O, I and L are read as 0, 1 and 1.
impl FromStr for SheetCode {
    type Err = SheetCodeError;
    fn from_str(text: &str) -> Result<Self, SheetCodeError> {
        let typed =
            text.chars().filter(|c| !c.is_whitespace() && !matches!(c, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}'));
        let symbols: Vec<u8> =
            typed.map(|c| symbol(c).ok_or(SheetCodeError::Character(c))).collect::<Result<_, _>>()?;
        let (Some(told), true) = (symbols.first_chunk::<LENGTH>(), symbols.len() == LENGTH + 1) else {
            return Err(SheetCodeError::Length { found: symbols.len() });
        };
        if checks(&symbols) { Ok(Self(*told)) } else { Err(SheetCodeError::Typo) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::SavedSetting;
    use crate::safety::SafetyClass;

    fn step(module: &str, write: SavedWrite) -> SavedStep {
        SavedStep {
            module: module.parse().unwrap(),
            address: None,
            write,
            settings: vec![SavedSetting { setting: "speed".parse().unwrap(), found: None, left: "5".to_owned() }],
            undeclared: BitMask::default(),
            class: SafetyClass::Caution,
            restricted: Vec::new(),
            cautions: Vec::new(),
            definition: None,
            intermediate: None,
            remarks: Vec::new(),
        }
    }

    fn record(expect: Option<&str>, write: &str, volatile: &[u8]) -> SavedStep {
        let mut mask = BitMask::none(volatile.len());
        volatile.iter().enumerate().for_each(|(at, byte)| mask.insert(at, *byte));
        let mask = if mask.is_empty() { BitMask::default() } else { mask };
        let (expect, write) = (expect.map(|text| text.parse().unwrap()), write.parse().unwrap());
        step("body", SavedWrite::Record { record: "0D01".parse().unwrap(), expect, write, volatile: mask })
    }

    fn named(expect: Option<&str>, write: &str) -> SavedStep {
        let (setting, expect) = ("greeting".parse().unwrap(), expect.map(str::to_owned));
        step("cluster", SavedWrite::Setting { setting, expect, write: write.to_owned() })
    }

    fn code(steps: &[SavedStep]) -> String {
        SheetCode::of(&"wren".parse().unwrap(), steps).to_string()
    }

    /// Worked out with Python's hashlib from the text that docs/plans.md describes, the first 35 bits of SHA-256 written with
    /// Crockford's alphabet; the check character by Damm's table as `base32` holds it.
    #[test]
    fn it_is_made_as_the_page_says() {
        assert_eq!(code(&[record(Some("13 03 40 56"), "15 03 40 58", &[])]), "WJ4S-QVQN");
        assert_eq!(code(&[record(None, "01 02", &[0, 0x0F]), named(Some("Guten Tag; Gurte?"), "Grüße")]), "BK9B-HTDF");
    }

    #[test]
    fn whatever_is_done_otherwise_has_another_code() {
        let same = record(Some("13 03"), "15 03", &[]);
        let other_module = SavedStep { module: "seat".parse().unwrap(), ..same.clone() };
        let sheets = [
            vec![],
            vec![same.clone()],
            vec![record(Some("13 23"), "15 23", &[])],
            vec![record(Some("13 03"), "15 23", &[])],
            vec![record(Some("13 23"), "15 03", &[])],
            vec![record(None, "15 03", &[])],
            vec![record(Some("13 03"), "15 03", &[0, 1])],
            vec![other_module],
            vec![same.clone(), named(None, "1")],
            vec![named(None, "1"), same.clone()],
            vec![named(Some("1"), "1")],
            vec![named(Some("1"), "31")],
        ];
        let codes: std::collections::BTreeSet<String> = sheets.iter().map(|steps| code(steps)).collect();
        assert_eq!(codes.len(), sheets.len(), "{codes:?}");
        assert_ne!(code(&sheets[1]), SheetCode::of(&"plover".parse().unwrap(), &sheets[1]).to_string());
    }

    #[test]
    fn what_changes_by_itself_and_what_is_only_said_of_a_step_leave_the_code() {
        let counts = |found: &str, left: &str| code(&[record(Some(found), left, &[0, 0xFF])]);
        assert_eq!(counts("13 01", "15 01"), counts("13 7A", "15 7A"));
        let plain = record(Some("13 03"), "15 03", &[]);
        let told = SavedStep { cautions: vec!["hot".to_owned()], class: SafetyClass::Restricted, ..plain.clone() };
        assert_eq!(code(&[plain]), code(&[told]));
    }

    #[test]
    fn it_is_read_however_it_is_typed_and_slips_are_noticed() {
        let good = SheetCode::of(&"wren".parse().unwrap(), &[record(None, "15 03", &[])]);
        let text = good.to_string();
        for typed in [text.clone(), text.to_lowercase(), text.replace('-', ""), text.replace('-', " – ")] {
            assert_eq!(typed.parse(), Ok(good), "{typed}");
        }
        let characters: Vec<char> = text.chars().filter(|c| *c != '-').collect();
        for at in 0..characters.len() {
            for other in (0..32).map(character).filter(|other| *other != characters[at]) {
                let mut wrong = characters.clone();
                wrong[at] = other;
                assert_eq!(wrong.iter().collect::<String>().parse::<SheetCode>(), Err(SheetCodeError::Typo));
            }
            if at > 0 && characters[at] != characters[at - 1] {
                let mut swapped = characters.clone();
                swapped.swap(at, at - 1);
                assert_eq!(swapped.iter().collect::<String>().parse::<SheetCode>(), Err(SheetCodeError::Typo));
            }
        }
        assert_eq!("".parse::<SheetCode>(), Err(SheetCodeError::Length { found: 0 }));
        assert_eq!(text[1..].parse::<SheetCode>(), Err(SheetCodeError::Length { found: 7 }));
        assert_eq!("U000-0000".parse::<SheetCode>(), Err(SheetCodeError::Character('U')));
    }
}
