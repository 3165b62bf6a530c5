//! How an interpreted number becomes the value that people see.

use std::fmt;

use crate::value::Decimal;

/// How an interpreted number becomes the value that people see (ISO 22901-1: the category of a computation method).
///
/// Plain data as a definition writes it; whether it fits is found by [`super::Layout::new`].
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Conversion {
    /// As it is. For a switch: `off` = 0, `on` = 1.
    Identical,
    /// One line for every number.
    Linear(Linear),
    /// A line of its own for each of several ranges.
    ScaleLinear(Vec<Scale>),
    /// A name for each of several numbers or ranges.
    Table(TextTable),
}

impl fmt::Display for Conversion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Identical => "none",
            Self::Linear(_) => "scale",
            Self::ScaleLinear(_) => "scales",
            Self::Table(_) => "choices",
        })
    }
}

/// A line: shown = (`numerator[0]` + `numerator[1]` · interpreted) / `denominator`, calculated exactly.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Linear {
    /// The offset and the factor.
    pub numerator: [Decimal; 2],
    /// What both are divided by.
    pub denominator: Decimal,
}

/// A line for the interpreted numbers `from` to `to`, both included.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Scale {
    /// The first number.
    pub from: i128,
    /// The last number.
    pub to: i128,
    /// The line.
    pub line: Linear,
}

/// Names for interpreted numbers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct TextTable {
    /// The names, in the order in which they are shown.
    pub entries: Vec<TextEntry>,
}

/// One name of a text table, for the interpreted numbers `from` to `to`, both included.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TextEntry {
    /// The name.
    pub name: String,
    /// The first number that means it.
    pub from: i128,
    /// The last number that means it.
    pub to: i128,
    /// The number that is written for it.
    pub write: i128,
}

impl TextEntry {
    /// A name for one number.
    pub fn single(name: impl Into<String>, number: i128) -> Self {
        Self { name: name.into(), from: number, to: number, write: number }
    }
}
