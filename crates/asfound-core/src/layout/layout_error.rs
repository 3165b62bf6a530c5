//! Why parts of a layout do not fit together.

use thiserror::Error;

use super::{Coding, ValueKind};
use crate::value::Decimal;

/// One thing that does not fit in a layout.
///
/// Scales are counted from 0 in the order in which they were given; a single line (`scale`) has no number.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LayoutError {
    /// The kind cannot be coded so.
    #[error("the type {kind} is not coded as {coding}, but as {allowed}")]
    Coding {
        /// The kind's name.
        kind: ValueKind,
        /// The coding asked for.
        coding: Coding,
        /// The codings that it may have.
        allowed: &'static str,
    },
    /// The kind cannot be converted so.
    #[error("the type {kind} takes {allowed}, not `{conversion}`")]
    Conversion {
        /// The kind's name.
        kind: ValueKind,
        /// The conversion's key.
        conversion: String,
        /// What it may have.
        allowed: &'static str,
    },
    /// Too few or too many bits for the coding.
    #[error("{bits} bits do not suit the coding {coding}, which takes {least} to {most}")]
    Bits {
        /// The coding.
        coding: Coding,
        /// The bits given.
        bits: u16,
        /// The fewest bits.
        least: u16,
        /// The most bits.
        most: u16,
    },
    /// The bits are no multiple of what one digit or character takes.
    #[error("{bits} bits do not suit the coding {coding}, which takes a multiple of {multiple}")]
    BitsNotWhole {
        /// The coding.
        coding: Coding,
        /// The bits given.
        bits: u16,
        /// What they must be a multiple of.
        multiple: u16,
    },
    /// Text and bytes that do not start at a byte.
    #[error("the coding {coding} takes whole bytes, so its bit position is 0, not {bit}")]
    Alignment {
        /// The coding.
        coding: Coding,
        /// The bit position given.
        bit: u8,
    },
    /// Text and bytes in little order.
    #[error("the coding {coding} is stored in the order of the record, so its byte order is big")]
    Order {
        /// The coding.
        coding: Coding,
    },
    /// A unit that cannot stand behind a number.
    #[error(
        "`{0}` cannot be a unit: it must not be empty, start with a digit, point, comma or sign, or have spaces around it"
    )]
    Unit(String),
    /// More places than are shown.
    #[error("{decimals} places are more than a value can have ({most})")]
    Decimals {
        /// The places given.
        decimals: u8,
        /// The most places.
        most: u8,
    },
    /// A choice without names.
    #[error("there is nothing to choose from: a choice needs at least one name")]
    NoChoices,
    /// A name that cannot be typed or shown.
    #[error("`{0}` cannot be a choice: a name is not empty, has no control characters and no spaces around it")]
    ChoiceName(String),
    /// The same name twice.
    #[error("the choice `{0}` is given twice")]
    ChoiceTwice(String),
    /// A range that is turned round.
    #[error("the choice `{name}` goes from {from} to {to}: the first is larger than the last")]
    ChoiceTurned {
        /// The choice.
        name: String,
        /// The first number.
        from: i128,
        /// The last number.
        to: i128,
    },
    /// The number to write is outside the range.
    #[error("the choice `{name}` writes {write}, which is not in its range {from} to {to}")]
    ChoiceWrite {
        /// The choice.
        name: String,
        /// The number to write.
        write: i128,
        /// The first number.
        from: i128,
        /// The last number.
        to: i128,
    },
    /// A number that the bits cannot hold.
    #[error("the choice `{name}` has {number}, but the bits hold {least} to {most}")]
    ChoiceOutside {
        /// The choice.
        name: String,
        /// The number that does not fit.
        number: i128,
        /// The least number that the bits hold.
        least: i128,
        /// The largest number that the bits hold.
        most: i128,
    },
    /// Two choices share a number.
    #[error("the choices `{first}` and `{second}` both have {number}")]
    ChoicesOverlap {
        /// One choice.
        first: String,
        /// The other.
        second: String,
        /// A number that both have.
        number: i128,
    },
    /// A switch with other names than `on` and `off`.
    #[error("a switch has the choices `on` and `off`, not {}", list(.0))]
    SwitchNames(Vec<String>),
    /// Scales without one.
    #[error("there is no scale: give at least one")]
    NoScales,
    /// A range that is turned round.
    #[error("{} goes from {from} to {to}: the first is larger than the last", scale_name(Some(*.scale)))]
    ScaleTurned {
        /// The scale.
        scale: usize,
        /// The first number.
        from: i128,
        /// The last number.
        to: i128,
    },
    /// A range that the bits cannot hold.
    #[error("{} has {number}, but the bits hold {least} to {most}", scale_name(Some(*.scale)))]
    ScaleOutside {
        /// The scale.
        scale: usize,
        /// The number that does not fit.
        number: i128,
        /// The least number that the bits hold.
        least: i128,
        /// The largest number that the bits hold.
        most: i128,
    },
    /// Two scales share a number.
    #[error("{} and {} both have {number}", scale_name(Some(*.first)), scale_name(Some(*.second)))]
    ScalesOverlap {
        /// One scale.
        first: usize,
        /// The other.
        second: usize,
        /// A number that both have.
        number: i128,
    },
    /// A division by zero.
    #[error("{} divides by zero", scale_name(*.scale))]
    ZeroDenominator {
        /// The scale.
        scale: Option<usize>,
    },
    /// Every number would be shown as the same value.
    #[error("{} has the factor zero, so that different numbers could not be told apart", scale_name(*.scale))]
    ZeroSlope {
        /// The scale.
        scale: Option<usize>,
    },
    /// A division that does not end, and no places given.
    #[error("{} gives values that do not end as decimals: give `decimals`", scale_name(*.scale))]
    NeverEnds {
        /// The scale.
        scale: Option<usize>,
    },
    /// Fractions in a whole number.
    #[error("{} gives fractions, but an integer has none: make it a quantity", scale_name(*.scale))]
    Fractions {
        /// The scale.
        scale: Option<usize>,
    },
    /// Values too large, or with too many digits.
    #[error("{} gives values of more digits than are accepted", scale_name(*.scale))]
    Large {
        /// The scale.
        scale: Option<usize>,
    },
    /// Rounding makes neighbours alike.
    #[error("{} shows different numbers as the same value: give more `decimals`", scale_name(*.scale))]
    Alike {
        /// The scale.
        scale: Option<usize>,
    },
    /// Two scales show the same value.
    #[error("{} and {} both show {shown}", scale_name(Some(*.first)), scale_name(Some(*.second)))]
    AlikeAcross {
        /// One scale.
        first: usize,
        /// The other.
        second: usize,
        /// A value that both show.
        shown: Decimal,
    },
    /// Two scales show values in between each other, too many to compare.
    #[error(
        "{} and {} show values in between each other, too many to make sure that no two are the same",
        scale_name(Some(*.first)), scale_name(Some(*.second))
    )]
    Interleaved {
        /// One scale.
        first: usize,
        /// The other.
        second: usize,
    },
}

/// Which part of a setting an error is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LayoutPart {
    /// The bit position.
    Bit,
    /// The bit length.
    Bits,
    /// The byte order.
    Order,
    /// The coding.
    Coding,
    /// The conversion as a whole.
    Conversion,
    /// The unit.
    Unit,
    /// The decimal places.
    Decimals,
    /// The choices as a whole.
    Choices,
    /// The choice of this name.
    Choice(String),
    /// The only scale.
    Scale,
    /// The scales as a whole.
    Scales,
    /// The scale of this number, counted from 0.
    ScaleOf(usize),
}

impl LayoutError {
    /// The part of the setting that the error is about.
    pub fn part(&self) -> LayoutPart {
        match self {
            Self::Coding { .. } => LayoutPart::Coding,
            Self::Conversion { .. } => LayoutPart::Conversion,
            Self::Bits { .. } | Self::BitsNotWhole { .. } => LayoutPart::Bits,
            Self::Alignment { .. } => LayoutPart::Bit,
            Self::Order { .. } => LayoutPart::Order,
            Self::Unit(_) => LayoutPart::Unit,
            Self::Decimals { .. } => LayoutPart::Decimals,
            Self::NoChoices | Self::SwitchNames(_) => LayoutPart::Choices,
            Self::ChoiceName(name)
            | Self::ChoiceTwice(name)
            | Self::ChoiceTurned { name, .. }
            | Self::ChoiceWrite { name, .. }
            | Self::ChoiceOutside { name, .. }
            | Self::ChoicesOverlap { second: name, .. } => LayoutPart::Choice(name.clone()),
            Self::NoScales => LayoutPart::Scales,
            Self::ScaleTurned { scale, .. }
            | Self::ScaleOutside { scale, .. }
            | Self::ScalesOverlap { second: scale, .. }
            | Self::AlikeAcross { second: scale, .. }
            | Self::Interleaved { second: scale, .. } => LayoutPart::ScaleOf(*scale),
            Self::ZeroDenominator { scale }
            | Self::ZeroSlope { scale }
            | Self::NeverEnds { scale }
            | Self::Fractions { scale }
            | Self::Large { scale }
            | Self::Alike { scale } => scale.map_or(LayoutPart::Scale, LayoutPart::ScaleOf),
        }
    }
}

fn scale_name(scale: Option<usize>) -> String {
    scale.map_or_else(|| "the scale".to_owned(), |scale| format!("scale {} of the list", scale + 1))
}

fn list(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}
