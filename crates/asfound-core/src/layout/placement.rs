//! Where a value's bits are in a record.

use std::fmt;

use thiserror::Error;

use super::{DecodeError, EncodeError};
use crate::value::BitMask;

/// The most bytes that one record may have: the longest ISO 15765-2 message.
const MOST_RECORD_BYTES: usize = 4095;

/// The most bytes that one value may have.
const MOST_VALUE_BYTES: u16 = 255;

/// The order of the bytes of a value that spreads over several.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum ByteOrder {
    /// The most significant byte comes first.
    #[default]
    Big,
    /// The least significant byte comes first.
    Little,
}

impl fmt::Display for ByteOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Big => "big",
            Self::Little => "little",
        })
    }
}

/// Why no value can be placed so.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PlacementError {
    /// A bit position beyond 7.
    #[error("bit position {0} is not in a byte: it goes from 0, the least significant, to 7")]
    Bit(u8),
    /// No bits at all.
    #[error("a value of 0 bits holds nothing")]
    NoBits,
    /// More bits than any value has.
    #[error("{0} bits are more than a value can have ({most})", most = MOST_VALUE_BYTES * 8)]
    Bits(u16),
    /// Behind the end of the longest record.
    #[error("byte {0} is behind the end of the longest record ({MOST_RECORD_BYTES} bytes)")]
    Byte(usize),
}

/// Which bits of a record hold a value (ISO 22901-1: byte position, bit position, bit length, byte order).
///
/// With n = ⌈(bit + bits) / 8⌉, the n bytes from `byte` on are read as one integer in the byte order; shifted right by
/// `bit`, its lowest `bits` bits are the coded value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Placement {
    byte: usize,
    bit: u8,
    bits: u16,
    order: ByteOrder,
}

impl Placement {
    /// A place from byte `byte` (counted from 0) and bit `bit` (0 the least significant, to 7) on, `bits` bits long.
    pub fn new(byte: usize, bit: u8, bits: u16, order: ByteOrder) -> Result<Self, PlacementError> {
        if bit > 7 {
            return Err(PlacementError::Bit(bit));
        }
        if bits == 0 {
            return Err(PlacementError::NoBits);
        }
        if bits > MOST_VALUE_BYTES * 8 {
            return Err(PlacementError::Bits(bits));
        }
        let placement = Self { byte, bit, bits, order };
        let last = byte.saturating_add(placement.bytes() - 1);
        if last >= MOST_RECORD_BYTES {
            return Err(PlacementError::Byte(last));
        }
        Ok(placement)
    }

    /// The first byte, counted from 0.
    pub fn byte(&self) -> usize {
        self.byte
    }

    /// The bit position of the least significant bit, 0 to 7.
    pub fn bit(&self) -> u8 {
        self.bit
    }

    /// The number of bits.
    pub fn bits(&self) -> u16 {
        self.bits
    }

    /// The byte order.
    pub fn order(&self) -> ByteOrder {
        self.order
    }

    /// The number of bytes that the bits touch.
    pub fn bytes(&self) -> usize {
        (usize::from(self.bit) + usize::from(self.bits)).div_ceil(8)
    }

    /// The first byte behind the value, which is the least length of a record that holds it.
    pub fn end(&self) -> usize {
        self.byte + self.bytes()
    }

    /// The value's bits in a record of `record_len` bytes; bits behind the record's end are left out.
    pub fn mask(&self, record_len: usize) -> BitMask {
        let mut mask = BitMask::none(record_len);
        for step in 0..self.bytes() {
            // `step` counts from the least significant byte on.
            let at = self.byte_of_step(step);
            if at < record_len {
                mask.insert(at, self.mask_of_step(step));
            }
        }
        mask
    }

    fn byte_of_step(&self, step: usize) -> usize {
        match self.order {
            ByteOrder::Big => self.end() - 1 - step,
            ByteOrder::Little => self.byte + step,
        }
    }

    fn mask_of_step(&self, step: usize) -> u8 {
        let first = usize::from(self.bit);
        let behind = first + usize::from(self.bits);
        (0..8).filter(|bit| (first..behind).contains(&(step * 8 + bit))).fold(0, |mask, bit| mask | 1 << bit)
    }

    /// The bits as a number; for at most 64 bits.
    pub(super) fn number(&self, record: &[u8]) -> Result<u64, DecodeError> {
        self.reaches(record).map_err(|(need, have)| DecodeError::TooShort { need, have })?;
        let mut whole: u128 = 0;
        for step in (0..self.bytes()).rev() {
            whole = whole << 8 | u128::from(record[self.byte_of_step(step)] & self.mask_of_step(step));
        }
        Ok(u64::try_from(whole >> self.bit).expect("a layout reads numbers only from placements of 64 bits at most"))
    }

    /// Puts a number of at most `bits` bits, 64 at most, in its place.
    pub(super) fn put_number(&self, number: u64, record: &mut [u8]) -> Result<(), EncodeError> {
        self.reaches(record).map_err(|(need, have)| EncodeError::TooShort { need, have })?;
        let whole = u128::from(number) << self.bit;
        for step in 0..self.bytes() {
            let mask = self.mask_of_step(step);
            let target = &mut record[self.byte_of_step(step)];
            *target = *target & !mask | whole.to_le_bytes()[step] & mask;
        }
        Ok(())
    }

    /// The whole bytes; for placements of whole bytes in big order.
    pub(super) fn whole_bytes<'r>(&self, record: &'r [u8]) -> Result<&'r [u8], DecodeError> {
        self.reaches(record).map_err(|(need, have)| DecodeError::TooShort { need, have })?;
        Ok(&record[self.byte..self.end()])
    }

    /// Puts as many bytes as the placement has in their place.
    pub(super) fn put_whole_bytes(&self, bytes: &[u8], record: &mut [u8]) -> Result<(), EncodeError> {
        self.reaches(record).map_err(|(need, have)| EncodeError::TooShort { need, have })?;
        record[self.byte..self.end()].copy_from_slice(bytes);
        Ok(())
    }

    fn reaches(&self, record: &[u8]) -> Result<(), (usize, usize)> {
        if self.end() <= record.len() { Ok(()) } else { Err((self.end(), record.len())) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(byte: usize, bit: u8, bits: u16, order: ByteOrder) -> Placement {
        Placement::new(byte, bit, bits, order).unwrap()
    }

    #[test]
    fn reads_across_bytes_in_either_order() {
        let record = [0xFF, 0b1010_1011, 0b1100_1101];
        // Big: 0xABCD >> 3 & 0x3FF; little: 0xCDAB >> 3 & 0x3FF. Worked by hand from the rule above.
        assert_eq!(place(1, 3, 10, ByteOrder::Big).number(&record), Ok(0xABCD >> 3 & 0x3FF));
        assert_eq!(place(1, 3, 10, ByteOrder::Little).number(&record), Ok(0xCDAB >> 3 & 0x3FF));
        assert_eq!(place(1, 0, 16, ByteOrder::Big).mask(3).bits().count(), 16);
    }

    #[test]
    fn sixty_four_bits_may_touch_nine_bytes() {
        let place = place(0, 7, 64, ByteOrder::Little);
        assert_eq!((place.bytes(), place.end()), (9, 9));
        let mut record = [0; 9];
        place.put_number(u64::MAX, &mut record).unwrap();
        assert_eq!(record, [0x80, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0x7F]);
        assert_eq!(place.number(&record), Ok(u64::MAX));
    }

    #[test]
    fn a_mask_holds_only_bits_of_the_record() {
        let place = place(1, 4, 8, ByteOrder::Little);
        let mask = place.mask(4);
        assert_eq!((0..4).map(|at| mask.byte(at)).collect::<Vec<_>>(), [0, 0xF0, 0x0F, 0]);
        assert_eq!((place.mask(2).len(), place.mask(2).count()), (2, 4));
    }

    #[test]
    fn refuses_places_that_no_record_has() {
        let error = |byte, bit, bits| Placement::new(byte, bit, bits, ByteOrder::Big).unwrap_err();
        assert_eq!(error(0, 8, 1), PlacementError::Bit(8));
        assert_eq!(error(0, 0, 0), PlacementError::NoBits);
        assert_eq!(error(0, 0, 2041), PlacementError::Bits(2041));
        assert_eq!(error(4094, 1, 8), PlacementError::Byte(4095));
        assert_eq!(error(usize::MAX, 0, 16), PlacementError::Byte(usize::MAX));
    }

    #[test]
    fn a_short_record_is_named_with_what_it_lacks() {
        let place = place(1, 0, 16, ByteOrder::Big);
        assert_eq!(place.number(&[0, 0]), Err(DecodeError::TooShort { need: 3, have: 2 }));
        assert_eq!(place.put_number(1, &mut [0, 0]), Err(EncodeError::TooShort { need: 3, have: 2 }));
    }
}
