//! Vehicle identification numbers.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a VIN was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum VinError {
    /// Not 17 characters.
    #[error("a VIN has 17 characters, this one has {0}")]
    Length(usize),
    /// I, O or Q, which ISO 3779 leaves out because they read like 1 and 0.
    #[error("character {place} of the VIN is `{found}`: the letters I, O and Q are not used (perhaps {meant})")]
    Lookalike {
        /// The letter.
        found: char,
        /// Its place, from 1.
        place: usize,
        /// The digit that it is usually mistaken for.
        meant: char,
    },
    /// Neither a digit nor a letter.
    #[error("character {place} of the VIN is `{found}`: only digits and capital letters are used")]
    Character {
        /// The character.
        found: char,
        /// Its place, from 1.
        place: usize,
    },
}

/// What the ninth character of a VIN says under the check-digit rule.
///
/// Outside North America the ninth position need not be a check digit, so a
/// mismatch is a warning and never an error.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckDigit {
    /// The ninth character is what the rule gives.
    Fits,
    /// The rule gives another character.
    Differs {
        /// The character that the rule gives.
        computed: char,
        /// The character that stands there.
        found: char,
    },
}

/// A vehicle identification number in the form of ISO 3779: 17 characters
/// without I, O and Q.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Vin(String);

impl Vin {
    /// The VIN as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The sum of the weighted values of 49 CFR 565.15(c), before the modulus.
    pub fn weighted_sum(&self) -> u32 {
        const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
        self.0.bytes().zip(WEIGHTS).map(|(character, weight)| transliterate(character) * weight).sum()
    }

    /// Holds the ninth character against the check-digit rule of 49 CFR 565.15(c).
    pub fn check_digit(&self) -> CheckDigit {
        let computed = match self.weighted_sum() % 11 {
            10 => 'X',
            digit => char::from_digit(digit, 10).expect("a remainder below 10 is a digit"),
        };
        let found = char::from(self.0.as_bytes()[8]);
        if computed == found { CheckDigit::Fits } else { CheckDigit::Differs { computed, found } }
    }
}

/// The value of a character under 49 CFR 565.15(c), table III.
fn transliterate(character: u8) -> u32 {
    match character {
        digit @ b'0'..=b'9' => u32::from(digit - b'0'),
        letter @ b'A'..=b'H' => u32::from(letter - b'A') + 1,
        letter @ b'J'..=b'R' => u32::from(letter - b'J') + 1,
        letter => u32::from(letter - b'S') + 2,
    }
}

impl FromStr for Vin {
    type Err = VinError;
    fn from_str(text: &str) -> Result<Self, VinError> {
        let length = text.chars().count();
        if length != 17 {
            return Err(VinError::Length(length));
        }
        for (index, found) in text.chars().enumerate() {
            let place = index + 1;
            match found {
                'I' | 'i' => return Err(VinError::Lookalike { found, place, meant: '1' }),
                'O' | 'o' | 'Q' | 'q' => return Err(VinError::Lookalike { found, place, meant: '0' }),
                '0'..='9' | 'A'..='Z' | 'a'..='z' => {}
                _ => return Err(VinError::Character { found, place }),
            }
        }
        Ok(Self(text.to_ascii_uppercase()))
    }
}

impl TryFrom<String> for Vin {
    type Error = VinError;
    fn try_from(text: String) -> Result<Self, VinError> {
        text.parse()
    }
}

impl From<Vin> for String {
    fn from(vin: Vin) -> String {
        vin.0
    }
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weighted sums and check digits published elsewhere.
    #[test]
    fn check_digits_agree_with_published_examples() {
        let cases = [
            // 49 CFR 565.15, table V: the worked example
            ("1G4AH59H45G118341", 411, '4'),
            // NHTSA, Outline for New Manufacturer Information
            ("1J9RP1A36A1644345", 314, '6'),
            // documentation of the crate vin_parser
            ("1M8GDM9AXKP042788", 351, 'X'),
            // from memory
            ("11111111111111111", 89, '1'),
        ];
        for (text, sum, digit) in cases {
            let vin: Vin = text.parse().unwrap();
            assert_eq!(vin.weighted_sum(), sum, "{text}");
            assert_eq!(vin.as_str().chars().nth(8), Some(digit));
            assert_eq!(vin.check_digit(), CheckDigit::Fits, "{text}");
        }
    }

    #[test]
    fn another_ninth_character_is_only_a_remark() {
        let vin: Vin = "1G4AH59H55G118341".parse().unwrap();
        assert_eq!(vin.check_digit(), CheckDigit::Differs { computed: '4', found: '5' });
    }

    #[test]
    fn lookalikes_and_other_characters_are_refused_with_their_place() {
        assert_eq!("1".parse::<Vin>(), Err(VinError::Length(1)));
        assert_eq!("1G4AH59H45G11834O".parse::<Vin>(), Err(VinError::Lookalike { found: 'O', place: 17, meant: '0' }));
        assert_eq!("1G4AH59H45G1183-1".parse::<Vin>(), Err(VinError::Character { found: '-', place: 16 }));
    }
}
