//! How coded bits stand for a number, a text or bytes.

use std::fmt;

/// How coded bits stand for a number, a text or bytes (ISO 22901-1: base type and encoding).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Coding {
    /// An unsigned number of 1 to 64 bits.
    Unsigned,
    /// A signed number of 2 to 64 bits.
    TwosComplement,
    /// Packed decimal digits of 4 bits each, the most significant first; 4 to 64 bits.
    Bcd,
    /// Decimal digits in the low half of each byte, the high half zero, the most significant first; 8 to 64 bits.
    BcdUnpacked,
    /// Printable ASCII (20 to 7E), whole bytes; `pad` fills the end when a text is shorter than its place.
    Ascii {
        /// The pad byte; without one a text fills its place exactly.
        pad: Option<u8>,
    },
    /// Bytes without further meaning.
    Bytes,
}

/// The bits that a coding allows: least, most, and what they must be a multiple of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct BitsAllowed {
    pub(super) least: u16,
    pub(super) most: u16,
    pub(super) multiple: u16,
}

impl Coding {
    /// Whether the coding stands for text or bytes, not for a number.
    pub fn is_whole_bytes(self) -> bool {
        matches!(self, Self::Ascii { .. } | Self::Bytes)
    }

    pub(super) fn bits_allowed(self) -> BitsAllowed {
        let (least, most, multiple) = match self {
            Self::Unsigned => (1, 64, 1),
            Self::TwosComplement => (2, 64, 1),
            Self::Bcd => (4, 64, 4),
            Self::BcdUnpacked => (8, 64, 8),
            Self::Ascii { .. } | Self::Bytes => (8, 255 * 8, 8),
        };
        BitsAllowed { least, most, multiple }
    }

    /// The least and the largest number that `bits` bits can stand for; nothing for text and bytes.
    pub(super) fn numbers(self, bits: u16) -> Option<(i128, i128)> {
        let bits = u32::from(bits.min(64));
        match self {
            Self::Unsigned => Some((0, (1 << bits) - 1)),
            Self::TwosComplement => Some((-(1 << (bits - 1)), (1 << (bits - 1)) - 1)),
            Self::Bcd => Some((0, 10_i128.pow(bits / 4) - 1)),
            Self::BcdUnpacked => Some((0, 10_i128.pow(bits / 8) - 1)),
            Self::Ascii { .. } | Self::Bytes => None,
        }
    }

    /// The number that coded bits stand for; nothing where a decimal digit is none.
    pub(super) fn interpret(self, coded: u64, bits: u16) -> Option<i128> {
        match self {
            Self::TwosComplement => {
                let sign = 1_i128 << (bits - 1);
                Some((i128::from(coded) ^ sign) - sign)
            }
            Self::Bcd => digits(coded, bits, 4),
            Self::BcdUnpacked => digits(coded, bits, 8),
            Self::Unsigned | Self::Ascii { .. } | Self::Bytes => Some(i128::from(coded)),
        }
    }

    /// The coded bits for a number; nothing where it does not fit.
    pub(super) fn represent(self, number: i128, bits: u16) -> Option<u64> {
        let (least, most) = self.numbers(bits)?;
        if number < least || number > most {
            return None;
        }
        match self {
            Self::Bcd => Some(from_digits(number, 4)),
            Self::BcdUnpacked => Some(from_digits(number, 8)),
            _ => u64::try_from(number & ((1 << bits) - 1)).ok(),
        }
    }
}

/// Reads one decimal digit from each group of `step` bits.
fn digits(coded: u64, bits: u16, step: u16) -> Option<i128> {
    (0..bits / step).rev().try_fold(0_i128, |number, place| {
        let digit = coded >> (place * step) & ((1 << step) - 1);
        (digit <= 9).then(|| number * 10 + i128::from(digit))
    })
}

/// Puts the decimal digits of a number that is not negative and fits into groups of `step` bits.
fn from_digits(number: i128, step: u32) -> u64 {
    let mut rest = u64::try_from(number).expect("a number of 16 decimal digits at most");
    let mut coded = 0;
    let mut shift = 0;
    while rest > 0 {
        coded |= (rest % 10) << shift;
        rest /= 10;
        shift += step;
    }
    coded
}

impl fmt::Display for Coding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Unsigned => "unsigned",
            Self::TwosComplement => "twos-complement",
            Self::Bcd => "bcd",
            Self::BcdUnpacked => "bcd-unpacked",
            Self::Ascii { .. } => "ascii",
            Self::Bytes => "bytes",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_signs_and_decimal_digits() {
        assert_eq!(Coding::TwosComplement.interpret(0b110, 3), Some(-2));
        assert_eq!(Coding::TwosComplement.interpret(1 << 63, 64), Some(i128::from(i64::MIN)));
        assert_eq!(Coding::Bcd.interpret(0x1290, 16), Some(1290));
        assert_eq!(Coding::Bcd.interpret(0x12A0, 16), None);
        assert_eq!(Coding::BcdUnpacked.interpret(0x0102, 16), Some(12));
        assert_eq!(Coding::BcdUnpacked.interpret(0x1102, 16), None);
    }

    #[test]
    fn the_largest_and_the_least_numbers_come_back() {
        for coding in [Coding::Unsigned, Coding::TwosComplement, Coding::Bcd, Coding::BcdUnpacked] {
            for bits in [8, 16, 64] {
                let (least, most) = coding.numbers(bits).unwrap();
                for number in [least, most] {
                    let coded = coding.represent(number, bits).unwrap();
                    assert_eq!(coding.interpret(coded, bits), Some(number), "{coding} {bits}");
                }
                assert_eq!(coding.represent(most + 1, bits), None);
                assert_eq!(coding.represent(least - 1, bits), None);
            }
        }
    }
}
