//! Why a checksum does not fit its record.

use thiserror::Error;

/// One thing that does not fit in a checksum.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ChecksumError {
    /// A size other than one or two bytes.
    #[error("a sum of {0} bytes is not known: it has 1 or 2")]
    Size(u8),
    /// A width other than 8 or 16.
    #[error("a cyclic redundancy check of {0} bits is not known: it has 8 or 16")]
    Width(u8),
    /// A polynomial that no data reaches.
    #[error("the polynomial is zero, so that the checksum would not depend on the record")]
    ZeroPolynomial,
    /// A parameter that has more bits than the width.
    #[error("{parameter} {value:X} has more than {width} bits")]
    Wide {
        /// The parameter's key.
        parameter: &'static str,
        /// Its value.
        value: u16,
        /// The width in bits.
        width: u8,
    },
    /// The checksum's own bytes are behind the record's end.
    #[error("the checksum ends at byte {last}, but the record has {length} bytes, 0 to {}", .length.saturating_sub(1))]
    Place {
        /// Its last byte.
        last: usize,
        /// The record's length.
        length: usize,
    },
    /// It covers nothing.
    #[error("the checksum covers no bytes")]
    NoBytes,
    /// A range that is turned round.
    #[error("the range {from}-{to} is turned round")]
    RangeTurned {
        /// The first byte.
        from: usize,
        /// The last byte.
        to: usize,
    },
    /// A range that is behind the record's end.
    #[error("the range {from}-{to} ends behind the record, which has {length} bytes, 0 to {}", .length.saturating_sub(1))]
    RangeOutside {
        /// The first byte.
        from: usize,
        /// The last byte.
        to: usize,
        /// The record's length.
        length: usize,
    },
    /// A range with the checksum's own bytes.
    #[error("the range {from}-{to} contains byte {at}, which is the checksum's own")]
    RangeOwn {
        /// The first byte.
        from: usize,
        /// The last byte.
        to: usize,
        /// The byte in question.
        at: usize,
    },
    /// A byte that two ranges cover.
    #[error("byte {0} is covered twice")]
    Twice(usize),
}

/// A record that is too short for its checksum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("the record has {have} bytes, but its checksum needs {need}")]
pub struct ChecksumTooShort {
    /// The bytes needed.
    pub need: usize,
    /// The bytes there are.
    pub have: usize,
}
