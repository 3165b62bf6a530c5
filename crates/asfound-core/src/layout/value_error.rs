//! Why a record has no value, or takes none.

use thiserror::Error;

use super::{Coded, ValueKind};
use crate::value::Value;

/// Why a record gives no value.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DecodeError {
    /// The record ends before the value does.
    #[error("the record has {have} bytes, but the value needs {need}")]
    TooShort {
        /// The bytes needed.
        need: usize,
        /// The bytes there are.
        have: usize,
    },
    /// The bits are there, but the layout gives them no meaning. [`super::Layout::coded`] still reads them.
    #[error("the coded value {coded} has no meaning: {why}")]
    NoMeaning {
        /// The bits.
        coded: Coded,
        /// What they are not.
        why: NoMeaning,
    },
}

/// Why coded bits have no meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoMeaning {
    /// No entry of the text table has it.
    #[error("none of the choices has it")]
    Unlisted,
    /// A decimal digit beyond 9, or an unpacked one whose high half is not zero.
    #[error("it is not made of decimal digits")]
    Digit,
    /// A byte that is no printable ASCII, pad bytes at the end aside.
    #[error("it is not printable text")]
    NotText,
    /// No scale has it.
    #[error("none of the scales has it")]
    NoScale,
    /// Not what this layout's coded values look like: too many bits, or bytes instead of a number.
    #[error("it does not fit the place")]
    Misfit,
}

/// Why a value cannot be put into a record.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EncodeError {
    /// The record ends before the value does.
    #[error("the record has {have} bytes, but the value needs {need}")]
    TooShort {
        /// The bytes needed.
        need: usize,
        /// The bytes there are.
        have: usize,
    },
    /// A value of another kind.
    #[error("`{value}` is not of the type {kind}")]
    Kind {
        /// The value given.
        value: Value,
        /// The kind that the setting has.
        kind: ValueKind,
    },
    /// A quantity in another unit.
    #[error("`{value}` is not in {unit}")]
    Unit {
        /// The value given.
        value: Value,
        /// The unit that the setting has.
        unit: String,
    },
    /// A number that no coded value stands for.
    #[error(transparent)]
    Number(Box<NotStorable>),
    /// A name that is not among the choices.
    #[error("`{name}` is not among the choices {}", .choices.join(", "))]
    Choice {
        /// The name given.
        name: String,
        /// The names there are.
        choices: Vec<String>,
    },
    /// A text or bytes of the wrong length.
    #[error("{length} bytes do not fit: it takes {}", if *.exact { format!("exactly {most}") } else { format!("at most {most}") })]
    Length {
        /// The bytes given.
        length: usize,
        /// The bytes there is room for.
        most: usize,
        /// Whether it must be as many, because there is no pad byte.
        exact: bool,
    },
    /// A character that cannot be stored.
    #[error("{0:?} cannot be stored: the text is printable ASCII")]
    Character(char),
    /// A text that ends with the pad byte, which would not come back.
    #[error("the text ends with the pad byte {pad:02X}, which would be taken for the filling behind it")]
    EndsWithPad {
        /// The pad byte.
        pad: u8,
    },
    /// A coded value that is not what this layout's coded values look like.
    #[error("the coded value {coded} does not fit into {bits} bits")]
    Coded {
        /// The coded value given.
        coded: Coded,
        /// The bits of the place.
        bits: u16,
    },
}

/// A number that no coded value stands for, with the nearest ones that can be stored.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{value}` cannot be stored; {}", nearest(.below.as_ref(), .above.as_ref()))]
pub struct NotStorable {
    /// The value given.
    pub value: Value,
    /// The nearest smaller value that can be stored.
    pub below: Option<Value>,
    /// The nearest larger value that can be stored.
    pub above: Option<Value>,
}

fn nearest(below: Option<&Value>, above: Option<&Value>) -> String {
    match (below, above) {
        (Some(below), Some(above)) => format!("the nearest that can are {below} and {above}"),
        (Some(below), None) => format!("the largest that can is {below}"),
        (None, Some(above)) => format!("the least that can is {above}"),
        (None, None) => "nothing can".to_owned(),
    }
}
