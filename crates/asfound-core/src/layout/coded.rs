//! Coded values: bits before anything is read into them.

use std::fmt;

use crate::value::HexBytes;

/// The coded bits of a value before interpretation.
///
/// The text form is hexadecimal: a number with an even count of digits (`05`, `01FF`), bytes with spaces (`03 0F`).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Coded {
    /// Up to 64 bits, as one unsigned number.
    Number(u64),
    /// Whole bytes, for text and byte fields.
    Bytes(Vec<u8>),
}

impl fmt::Display for Coded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => {
                let digits = format!("{number:X}");
                let width = digits.len().next_multiple_of(2);
                f.pad(&format!("{digits:0>width$}"))
            }
            Self::Bytes(bytes) => f.pad(&HexBytes::from(bytes.clone()).to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_shown_as_hexadecimal() {
        for (coded, shown) in [
            (Coded::Number(0), "00"),
            (Coded::Number(5), "05"),
            (Coded::Number(0x1FF), "01FF"),
            (Coded::Number(u64::MAX), "FFFFFFFFFFFFFFFF"),
            (Coded::Bytes(vec![3, 15]), "03 0F"),
        ] {
            assert_eq!(coded.to_string(), shown);
        }
    }
}
