//! Checksums that a record carries over its own bytes.

use std::ops::RangeInclusive;

use super::{ByteOrder, ChecksumError, ChecksumTooShort, CrcParameters};
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
        let mut errors = Vec::new();
        match kind {
            ChecksumKind::Sum { size: 1 | 2, .. } | ChecksumKind::Xor => {}
            ChecksumKind::Sum { size, .. } => errors.push(ChecksumError::Size(size)),
            ChecksumKind::Crc(parameters) => parameters.fit(&mut errors),
        }
        let checksum = Self { kind, at, over, order };
        let last = at.saturating_add(checksum.size().max(1) - 1);
        if last >= length {
            errors.push(ChecksumError::Place { last, length });
        }
        fit_ranges(&checksum.over, at..=last, length, &mut errors);
        if errors.is_empty() { Ok(checksum) } else { Err(errors) }
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
        match self.kind {
            ChecksumKind::Sum { size, .. } => usize::from(size),
            ChecksumKind::Xor => 1,
            ChecksumKind::Crc(parameters) => usize::from(parameters.width / 8),
        }
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
        let mut mask = BitMask::none(record_len);
        for at in (self.at..self.at + self.size()).filter(|at| *at < record_len) {
            mask.insert(at, 0xFF);
        }
        mask
    }

    /// What the checksum of the record should be.
    pub fn compute(&self, record: &[u8]) -> Result<u16, ChecksumTooShort> {
        self.reaches(record)?;
        let bytes = self.over.iter().flat_map(|range| &record[range.clone()]).copied();
        Ok(match self.kind {
            ChecksumKind::Sum { size, complement } => {
                let sum = bytes.fold(0_u16, |sum, byte| sum.wrapping_add(u16::from(byte)));
                let sum = if complement { sum.wrapping_neg() } else { sum };
                if size == 1 { sum & 0xFF } else { sum }
            }
            ChecksumKind::Xor => u16::from(bytes.fold(0, |all, byte| all ^ byte)),
            ChecksumKind::Crc(parameters) => parameters.compute(bytes),
        })
    }

    /// The checksum that the record carries.
    pub fn stored(&self, record: &[u8]) -> Result<u16, ChecksumTooShort> {
        self.reaches(record)?;
        let first = record[self.at];
        Ok(match (self.size(), self.order) {
            (1, _) => u16::from(first),
            (_, ByteOrder::Big) => u16::from_be_bytes([first, record[self.at + 1]]),
            (_, ByteOrder::Little) => u16::from_le_bytes([first, record[self.at + 1]]),
        })
    }

    /// Puts the right checksum into the record and touches no other byte.
    pub fn set(&self, record: &mut [u8]) -> Result<(), ChecksumTooShort> {
        let sum = self.compute(record)?;
        let [high, low] = sum.to_be_bytes();
        match (self.size(), self.order) {
            (1, _) => record[self.at] = low,
            (_, ByteOrder::Big) => record[self.at..self.at + 2].copy_from_slice(&[high, low]),
            (_, ByteOrder::Little) => record[self.at..self.at + 2].copy_from_slice(&[low, high]),
        }
        Ok(())
    }

    /// Whether the record carries the right checksum.
    pub fn holds(&self, record: &[u8]) -> Result<bool, ChecksumTooShort> {
        Ok(self.stored(record)? == self.compute(record)?)
    }

    /// The least length of a record that has the checksum and all that it covers.
    pub fn end(&self) -> usize {
        let covered = self.over.iter().map(|range| range.end() + 1).max().unwrap_or(0);
        covered.max(self.at + self.size())
    }

    fn reaches(&self, record: &[u8]) -> Result<(), ChecksumTooShort> {
        let (need, have) = (self.end(), record.len());
        if need <= have { Ok(()) } else { Err(ChecksumTooShort { need, have }) }
    }
}

/// Finds everything in the covered ranges that does not fit.
fn fit_ranges(
    over: &[RangeInclusive<usize>],
    own: RangeInclusive<usize>,
    length: usize,
    errors: &mut Vec<ChecksumError>,
) {
    if over.is_empty() {
        errors.push(ChecksumError::NoBytes);
    }
    let mut sound = Vec::new();
    for range in over {
        let (from, to) = (*range.start(), *range.end());
        if from > to {
            errors.push(ChecksumError::RangeTurned { from, to });
            continue;
        }
        if to >= length {
            errors.push(ChecksumError::RangeOutside { from, to, length });
        }
        if from <= *own.end() && *own.start() <= to {
            errors.push(ChecksumError::RangeOwn { from, to, at: from.max(*own.start()) });
        }
        sound.push((from, to));
    }
    sound.sort_unstable();
    for pair in sound.windows(2) {
        if pair[1].0 <= pair[0].1 {
            errors.push(ChecksumError::Twice(pair[1].0));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum(size: u8, complement: bool) -> ChecksumKind {
        ChecksumKind::Sum { size, complement }
    }

    fn checksum(kind: ChecksumKind, at: usize, over: &[RangeInclusive<usize>], order: ByteOrder) -> Checksum {
        Checksum::new(kind, at, over.to_vec(), order, 8).unwrap()
    }

    /// Worked by hand: 0x90 + 0x90 + 0x12 = 0x132; its two's complement in 8 bits 0xCE, in 16 bits 0xFECE; 0x90 ^ 0x90 ^ 0x12 = 0x12.
    #[test]
    fn sums_and_combines_bytes() {
        let record = [0, 0, 0x90, 0x90, 0xAA, 0x12, 0, 0];
        let over = [2..=3, 5..=5];
        for (kind, expected) in [
            (sum(1, false), 0x32),
            (sum(2, false), 0x0132),
            (sum(1, true), 0xCE),
            (sum(2, true), 0xFECE),
            (ChecksumKind::Xor, 0x12),
        ] {
            assert_eq!(checksum(kind, 6, &over, ByteOrder::Big).compute(&record), Ok(expected), "{kind:?}");
        }
        let mut complemented = record;
        checksum(sum(1, true), 6, &over, ByteOrder::Big).set(&mut complemented).unwrap();
        let all = [2, 3, 5, 6].iter().fold(0_u8, |all, at| all.wrapping_add(complemented[*at]));
        assert_eq!(all, 0);
    }

    #[test]
    fn sets_only_its_own_bytes_in_their_order_and_then_holds() {
        for (order, own) in [(ByteOrder::Big, [0x01, 0x32]), (ByteOrder::Little, [0x32, 0x01])] {
            let checksum = checksum(sum(2, false), 0, &[2..=3, 5..=5], order);
            let mut record = [0xFF, 0xFF, 0x90, 0x90, 0xAA, 0x12, 0x55, 0x66];
            assert_eq!(checksum.holds(&record), Ok(false));
            checksum.set(&mut record).unwrap();
            assert_eq!(record, [own[0], own[1], 0x90, 0x90, 0xAA, 0x12, 0x55, 0x66]);
            assert_eq!(checksum.holds(&record), Ok(true));
            assert_eq!(checksum.mask(8), BitMask::differing(&[0; 8], &[0xFF, 0xFF, 0, 0, 0, 0, 0, 0]));
            record[3] ^= 0x01;
            assert_eq!(checksum.holds(&record), Ok(false));
        }
    }

    /// CRC-16/IBM-3740 over `123456789` is 29B1 (CRC `RevEng` catalogue).
    #[test]
    fn carries_a_published_check_value() {
        let parameters = CrcParameters {
            width: 16,
            polynomial: 0x1021,
            initial: 0xFFFF,
            final_xor: 0,
            reflect_in: false,
            reflect_out: false,
        };
        let kind = ChecksumKind::Crc(parameters);
        let checksum = Checksum::new(kind, 9, vec![0..=8], ByteOrder::Big, 11).unwrap();
        let mut record = *b"123456789..";
        checksum.set(&mut record).unwrap();
        assert_eq!(&record, b"123456789\x29\xB1");
        assert_eq!(checksum.stored(&record), Ok(0x29B1));
    }

    #[test]
    fn a_short_record_is_an_error_and_stays_as_it_is() {
        let checksum = checksum(ChecksumKind::Xor, 1, &[2..=6], ByteOrder::Big);
        let mut record = [1; 6];
        assert_eq!(checksum.set(&mut record), Err(ChecksumTooShort { need: 7, have: 6 }));
        assert_eq!(checksum.holds(&record), Err(ChecksumTooShort { need: 7, have: 6 }));
        assert_eq!((record, checksum.end(), checksum.mask(1).len()), ([1; 6], 7, 1));
    }

    #[test]
    fn finds_all_that_does_not_fit() {
        let error = |kind, at, over: &[RangeInclusive<usize>]| {
            Checksum::new(kind, at, over.to_vec(), ByteOrder::Big, 8).unwrap_err()
        };
        assert_eq!(error(sum(3, false), 0, &[]), [ChecksumError::Size(3), ChecksumError::NoBytes]);
        assert_eq!(error(sum(0, false), 0, &[1..=1]), [ChecksumError::Size(0)]);
        #[expect(clippy::reversed_empty_ranges, reason = "a definition may have a range that is turned round")]
        let turned = 5..=4;
        assert_eq!(
            error(sum(2, false), 7, &[0..=2, 2..=3, turned, 6..=8]),
            [
                ChecksumError::Place { last: 8, length: 8 },
                ChecksumError::RangeTurned { from: 5, to: 4 },
                ChecksumError::RangeOutside { from: 6, to: 8, length: 8 },
                ChecksumError::RangeOwn { from: 6, to: 8, at: 7 },
                ChecksumError::Twice(2),
            ]
        );
        assert_eq!(
            error(ChecksumKind::Xor, usize::MAX, &[0..=usize::MAX]).len(),
            3,
            "behind the end, range behind the end, own byte"
        );
    }
}
