//! Checksums that a record carries over its own bytes.

use std::ops::RangeInclusive;

use thiserror::Error;

use super::ByteOrder;
use crate::value::BitMask;

/// How a checksum is calculated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChecksumKind {
    /// The bytes added, modulo 2^(8·`size`).
    Sum {
        /// 1 or 2 bytes.
        size: u8,
        /// Whether the two's complement of the sum is stored, so that everything adds up to zero.
        complement: bool,
    },
    /// All bytes combined by exclusive or; one byte.
    Xor,
    /// A cyclic redundancy check.
    Crc(CrcParameters),
}

/// The parameters of a cyclic redundancy check, named as in the CRC RevEng catalogue's model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CrcParameters {
    /// 8 or 16 bits.
    pub width: u8,
    /// The polynomial without its leading term, most significant bit first (not reversed).
    pub polynomial: u16,
    /// The register before the first byte, not reversed.
    pub initial: u16,
    /// What the result is combined with at the end.
    pub final_xor: u16,
    /// Whether each byte is taken in with its least significant bit first.
    pub reflect_in: bool,
    /// Whether the register is reversed before `final_xor`.
    pub reflect_out: bool,
}

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

/// A checksum that a record carries over its own bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checksum {
    kind: ChecksumKind,
    at: usize,
    over: Vec<RangeInclusive<usize>>,
    order: ByteOrder,
}

impl Checksum {
    /// A checksum in the bytes from `at` on, over the ranges of `over` in their order, of a record of `length` bytes.
    /// The errors are everything that does not fit, not only the first.
    pub fn new(
        kind: ChecksumKind,
        at: usize,
        over: Vec<RangeInclusive<usize>>,
        order: ByteOrder,
        length: usize,
    ) -> Result<Self, Vec<ChecksumError>> {
        let _ = length;
        Ok(Self { kind, at, over, order })
    }

    /// How it is calculated.
    pub fn kind(&self) -> ChecksumKind {
        self.kind
    }

    /// Its first byte.
    pub fn at(&self) -> usize {
        self.at
    }

    /// Its length in bytes, 1 or 2.
    pub fn size(&self) -> usize {
        unimplemented!()
    }

    /// The bytes that it covers, in the order in which they are taken in.
    pub fn over(&self) -> &[RangeInclusive<usize>] {
        &self.over
    }

    /// The order of its own bytes.
    pub fn order(&self) -> ByteOrder {
        self.order
    }

    /// Its own bits in a record of `record_len` bytes; bits behind the record's end are left out.
    pub fn mask(&self, record_len: usize) -> BitMask {
        let _ = record_len;
        unimplemented!()
    }

    /// What the checksum of the record should be.
    pub fn compute(&self, record: &[u8]) -> Result<u16, ChecksumTooShort> {
        let _ = record;
        unimplemented!()
    }

    /// The checksum that the record carries.
    pub fn stored(&self, record: &[u8]) -> Result<u16, ChecksumTooShort> {
        let _ = record;
        unimplemented!()
    }

    /// Puts the right checksum into the record and touches no other byte.
    pub fn set(&self, record: &mut [u8]) -> Result<(), ChecksumTooShort> {
        let _ = record;
        unimplemented!()
    }

    /// Whether the record carries the right checksum.
    pub fn holds(&self, record: &[u8]) -> Result<bool, ChecksumTooShort> {
        Ok(self.stored(record)? == self.compute(record)?)
    }
}
