//! The value of a setting.

use std::fmt;

use super::{Decimal, HexBytes};

/// The value of a setting, typed.
///
/// Its text form ([`fmt::Display`]) is what people read and type: `on`, `3`,
/// `12.5 km/h`, `low`, `03 0F`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Value {
    /// On or off.
    Switch(bool),
    /// A whole number.
    Integer(i128),
    /// A decimal with its unit.
    Quantity {
        /// The exact number.
        number: Decimal,
        /// The unit as the definition writes it, such as `km/h`.
        unit: String,
    },
    /// One of a setting's named values.
    Choice(String),
    /// Text as the module stores it, or a value that no definition types.
    Text(String),
    /// Bytes without further meaning.
    Bytes(HexBytes),
}

impl Value {
    /// The number in the value, for comparisons in rules; nothing for values that are no numbers.
    pub fn number(&self) -> Option<Decimal> {
        match self {
            Self::Integer(number) => Some(Decimal::from(*number)),
            Self::Quantity { number, .. } => Some(number.clone()),
            Self::Switch(_) | Self::Choice(_) | Self::Text(_) | Self::Bytes(_) => None,
        }
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Switch(true) => f.pad("on"),
            Self::Switch(false) => f.pad("off"),
            Self::Integer(number) => f.pad(&number.to_string()),
            Self::Quantity { number, unit } => f.pad(&format!("{number} {unit}")),
            Self::Choice(text) | Self::Text(text) => f.pad(text),
            Self::Bytes(bytes) => f.pad(&bytes.to_string()),
        }
    }
}
