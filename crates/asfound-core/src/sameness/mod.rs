//! The same, said differently, is the same: the one place where values are compared.
//!
//! What a value looks like depends on who wrote it down: `30,0 s` and `30 s`, `Off` and `off`, `0x00 0x1F` and `00 1F`.
//! [`compare_texts`] compares values that no definition types, [`compare_values`] those that one does, and
//! [`compare_identity_texts`] the texts by which a module names itself. Each says *same*, *said differently*, *different* or
//! *cannot be compared*, and *different* only of what no other way of writing could explain. The rule stands in
//! `docs/sameness.md`.
//!
//! *Same* and *said differently* together are an equivalence: what two values are written as is turned into one form, and
//! the forms are compared.

mod bytes;
mod form;
mod identity;
mod letters;
mod number;
mod text;
mod value;
mod words;
mod written;

use std::fmt;

pub use identity::compare_identity_texts;
pub(crate) use identity::identity_key;
pub use text::compare_texts;
pub use value::{compare_value_with_text, compare_values};
pub(crate) use written::{same_unit, written_bytes, written_number};

/// How two values stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sameness {
    /// The same, to the letter.
    Same,
    /// The same value, written otherwise.
    SaidDifferently(Respelling),
    /// Not the same, however they are written.
    Different,
    /// They may be the same value or not.
    CannotTell(Incomparable),
}

impl Sameness {
    /// Whether both are the same value, written alike or not.
    pub fn is_same(self) -> bool {
        matches!(self, Self::Same | Self::SaidDifferently(_))
    }

    /// Whether they certainly are not the same value.
    pub fn is_different(self) -> bool {
        self == Self::Different
    }

    /// Of several parts that are compared one by one: different where one part is, else unknown where one part is, else
    /// said differently where one part is.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let rank = |sameness: Self| match sameness {
            Self::Same => 0,
            Self::SaidDifferently(_) => 1,
            Self::CannotTell(_) => 2,
            Self::Different => 3,
        };
        if rank(other) > rank(self) { other } else { self }
    }
}

/// In what the writing of one value differs from that of the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Respelling {
    /// In how its characters are encoded: Unicode's normal forms, full width, other digits, invisible characters.
    Characters,
    /// In white space.
    Spacing,
    /// In small and capital letters.
    Case,
    /// In how a number is written: `30,0` and `30`, `007` and `7`.
    Number,
    /// In how bytes are written: `0x00 0x1F` and `00 1F`.
    Bytes,
    /// In the word for it: `off` and `aus`.
    Word,
    /// In zeros before the first digit of a part number, version or serial number.
    LeadingZeros,
    /// In its text: the definition gives both texts one value.
    Typed,
}

/// Why two values cannot be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Incomparable {
    /// They are of different kinds: `1` and `on`.
    Kind,
    /// Their units differ, or only one has a unit: `5` and `5 x`.
    Unit,
    /// One may be the other with fewer decimals: `12.5` and `12.48`.
    Rounding,
    /// A point or comma may part decimals or thousands: `1.500` and `1.5`.
    Separator,
    /// One may be the other in another base, sign or byte order: `10` and `16`.
    Notation,
    /// One may be the other shortened or filled up: bytes with zeros before them.
    Length,
    /// Nothing says that these words mean different things, nor that they mean the same: `active` and `on`.
    Words,
    /// Two names differ in nothing but marks, spelling or letters that are easily mistaken: `7M0-951` and `7MO951`.
    Letters,
    /// One of them says nothing.
    Absent,
    /// The definition gives the bits of one no meaning.
    NoMeaning,
    /// Two definitions explain them in ways that do not compare.
    Definitions,
    /// They are other bits of a record.
    OtherBits,
}

impl Incomparable {
    /// A word for it, for programs.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Kind => "kind",
            Self::Unit => "unit",
            Self::Rounding => "rounding",
            Self::Separator => "separator",
            Self::Notation => "notation",
            Self::Length => "length",
            Self::Words => "words",
            Self::Letters => "letters",
            Self::Absent => "absent",
            Self::NoMeaning => "no-meaning",
            Self::Definitions => "definitions",
            Self::OtherBits => "other-bits",
        }
    }
}

/// As a clause that follows "because".
impl fmt::Display for Incomparable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Kind => "one is a number, word or bytes and the other is not",
            Self::Unit => "their units differ, or only one has a unit",
            Self::Rounding => "one may be the other rounded",
            Self::Separator => "a point or comma may part decimals or thousands",
            Self::Notation => "one may be the other in another notation",
            Self::Length => "one may be the other shortened or filled up with zeros",
            Self::Words => "no definition says what these words mean",
            Self::Letters => "they may be two spellings of one name",
            Self::Absent => "one of them says nothing",
            Self::NoMeaning => "the definition gives the bits no meaning",
            Self::Definitions => "two definitions explain them differently",
            Self::OtherBits => "they are other bits of the record",
        })
    }
}

#[cfg(test)]
mod tests;
