//! What a setting's value is to the people who read and write it.

use std::fmt;

use super::Coding;

/// What a setting's value is to the people who read and write it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ValueKind {
    /// On or off.
    Switch,
    /// One of several names.
    Choice,
    /// A whole number.
    Integer,
    /// A decimal with a unit.
    Quantity {
        /// The unit, such as `km/h`.
        unit: String,
        /// The places behind the point that are shown, rounded half away from zero; `None` shows as many as it needs.
        decimals: Option<u8>,
    },
    /// Text.
    Text,
    /// Bytes.
    Bytes,
}

impl ValueKind {
    /// The codings that may carry the kind, by name.
    pub(super) fn allows_coding(&self, coding: Coding) -> bool {
        match self {
            Self::Switch => matches!(coding, Coding::Unsigned),
            Self::Choice => matches!(coding, Coding::Unsigned | Coding::TwosComplement),
            Self::Integer | Self::Quantity { .. } => !coding.is_whole_bytes(),
            Self::Text => matches!(coding, Coding::Ascii { .. }),
            Self::Bytes => matches!(coding, Coding::Bytes),
        }
    }

    /// The same as a list for messages.
    pub(super) fn codings_allowed(&self) -> &'static str {
        match self {
            Self::Switch => "unsigned",
            Self::Choice => "unsigned or twos-complement",
            Self::Integer | Self::Quantity { .. } => "unsigned, twos-complement, bcd or bcd-unpacked",
            Self::Text => "ascii",
            Self::Bytes => "bytes",
        }
    }
}

impl fmt::Display for ValueKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Switch => "switch",
            Self::Choice => "choice",
            Self::Integer => "integer",
            Self::Quantity { .. } => "quantity",
            Self::Text => "text",
            Self::Bytes => "bytes",
        })
    }
}
