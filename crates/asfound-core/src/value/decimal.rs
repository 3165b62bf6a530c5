//! Exact decimals.

use std::fmt;
use std::str::FromStr;

use bigdecimal::BigDecimal;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::Zero;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The most digits that a written decimal may have.
const MOST_DIGITS: usize = 60;

/// Why a text is no decimal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DecimalError {
    /// Something other than digits, one point and a sign.
    #[error("invalid decimal `{0}` (expected digits with a point, as in 12.5)")]
    Form(String),
    /// More digits than any setting has.
    #[error("a decimal of {0} digits is longer than the {MOST_DIGITS} that are accepted")]
    Long(usize),
}

/// An exact decimal number: no binary floating point anywhere.
///
/// Compared by value; the text form keeps no needless zeros.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Decimal(BigDecimal);

impl Decimal {
    /// The number `digits` · 10^−`places`.
    pub fn from_scaled(digits: BigInt, places: u32) -> Self {
        Self(BigDecimal::new(digits, i64::from(places)).normalized())
    }

    /// The number as a fraction, exactly.
    pub fn to_ratio(&self) -> BigRational {
        let (digits, places) = self.0.as_bigint_and_exponent();
        let ten = BigInt::from(10);
        let power =
            |exponent: i64| ten.pow(u32::try_from(exponent).expect("a decimal's places are limited when it is made"));
        if places >= 0 {
            BigRational::new(digits, power(places))
        } else {
            BigRational::from_integer(digits * power(-places))
        }
    }

    /// Whether the number is zero.
    pub fn is_zero(&self) -> bool {
        self.0.is_zero()
    }

    /// The number as an integer, if it is whole and fits.
    pub fn to_integer(&self) -> Option<i128> {
        let ratio = self.to_ratio();
        if ratio.is_integer() { i128::try_from(ratio.to_integer()).ok() } else { None }
    }
}

impl From<i128> for Decimal {
    fn from(number: i128) -> Self {
        Self(BigDecimal::from(number).normalized())
    }
}

impl FromStr for Decimal {
    type Err = DecimalError;
    fn from_str(text: &str) -> Result<Self, DecimalError> {
        let form = || DecimalError::Form(text.chars().take(64).collect());
        let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
        let (whole, part) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
        let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        if !digits(whole) || !digits(part) {
            return Err(form());
        }
        let count = whole.len() + part.len();
        if count > MOST_DIGITS {
            return Err(DecimalError::Long(count));
        }
        text.parse::<BigDecimal>().map(|number| Self(number.normalized())).map_err(|_| form())
    }
}

impl TryFrom<String> for Decimal {
    type Error = DecimalError;
    fn try_from(text: String) -> Result<Self, DecimalError> {
        text.parse()
    }
}

impl From<Decimal> for String {
    fn from(decimal: Decimal) -> String {
        decimal.to_string()
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0.to_plain_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_exact_and_short() {
        for (text, shown) in [("12.50", "12.5"), ("-0.10", "-0.1"), ("100", "100"), ("0.0", "0"), ("+7", "7")] {
            assert_eq!(text.parse::<Decimal>().unwrap().to_string(), shown);
        }
        assert_eq!("100".parse::<Decimal>().unwrap().to_integer(), Some(100));
        assert_eq!("0.5".parse::<Decimal>().unwrap().to_integer(), None);
    }

    #[test]
    fn refuses_what_is_no_plain_decimal() {
        for text in ["", ".", "1.", ".5", "1e9", "1e999999999", "NaN", "0x10", "1 2", "--1", "1.2.3"] {
            assert!(text.parse::<Decimal>().is_err(), "{text:?}");
        }
        assert!("9".repeat(70).parse::<Decimal>().is_err());
    }
}
