//! A CAN identifier, 11 or 29 bits.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// The bit that tells a 29-bit identifier apart in the packed form (as in `SocketCAN`'s `CAN_EFF_FLAG`).
const EXTENDED: u32 = 0x8000_0000;

/// A CAN identifier (ISO 11898-1): 11 bits, or 29 bits. The two ranges are different identifiers even where the
/// number is the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CanId(u32);

/// Why a text or number is no CAN identifier.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CanIdError {
    /// Not hexadecimal, or of a length that no log writes.
    #[error("`{0}` is no CAN identifier: three hexadecimal digits for 11 bits, eight for 29 bits")]
    Form(String),
    /// More bits than an identifier has.
    #[error("{0:X} has more bits than a CAN identifier")]
    Range(u32),
}

impl CanId {
    /// An identifier of 11 bits, 0 to 7FF.
    pub fn standard(number: u32) -> Result<Self, CanIdError> {
        if number <= 0x7FF { Ok(Self(number)) } else { Err(CanIdError::Range(number)) }
    }

    /// An identifier of 29 bits, 0 to 1FFFFFFF.
    pub fn extended(number: u32) -> Result<Self, CanIdError> {
        if number <= 0x1FFF_FFFF { Ok(Self(number | EXTENDED)) } else { Err(CanIdError::Range(number)) }
    }

    /// Cuts a number to 11 bits.
    pub(crate) const fn of_11_bits(number: u32) -> Self {
        Self(number & 0x7FF)
    }

    /// Cuts a number to 29 bits.
    pub(crate) const fn of_29_bits(number: u32) -> Self {
        Self(number & 0x1FFF_FFFF | EXTENDED)
    }

    /// The number without its width.
    pub const fn number(self) -> u32 {
        self.0 & !EXTENDED
    }

    /// Whether it has 29 bits.
    pub const fn is_extended(self) -> bool {
        self.0 & EXTENDED != 0
    }

    /// Number and width in one, for tables.
    pub(crate) const fn packed(self) -> u32 {
        self.0
    }
}

/// Three hexadecimal digits for 11 bits, eight for 29 bits, as every candump log writes them.
impl fmt::Display for CanId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_extended() { write!(f, "{:08X}", self.number()) } else { write!(f, "{:03X}", self.number()) }
    }
}

/// Up to three digits are 11 bits, more are 29 bits.
impl FromStr for CanId {
    type Err = CanIdError;
    fn from_str(text: &str) -> Result<Self, CanIdError> {
        let wrong = || CanIdError::Form(text.chars().take(32).collect());
        if text.is_empty() || text.len() > 8 || !text.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(wrong());
        }
        let number = u32::from_str_radix(text, 16).map_err(|_| wrong())?;
        if text.len() <= 3 { Self::standard(number) } else { Self::extended(number) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_width_is_told_by_the_digits() {
        assert_eq!("7E8".parse::<CanId>(), CanId::standard(0x7E8));
        assert_eq!("000007E8".parse::<CanId>(), CanId::extended(0x7E8));
        assert_ne!(CanId::standard(0x7E8), CanId::extended(0x7E8));
        assert_eq!("18DAF110".parse::<CanId>().unwrap().to_string(), "18DAF110");
        for wrong in ["", "7E8x", "800", "FFFFFFFF", "123456789"] {
            assert!(wrong.parse::<CanId>().is_err(), "{wrong}");
        }
    }
}
