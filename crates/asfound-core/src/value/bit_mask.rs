//! A set of bits of a record.

use std::fmt;
use std::sync::Arc;

/// A set of bits of one record, kept as one mask byte for each byte of the record.
///
/// A clone shares the mask. Bits beyond the mask's own length count as not in the set. Two masks are
/// equal when they hold the same bits in masks of the same length.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct BitMask(Arc<[u8]>);

impl BitMask {
    /// No bit of a record of `length` bytes.
    pub fn none(length: usize) -> Self {
        Self(vec![0; length].into())
    }

    /// Every bit of a record of `length` bytes.
    pub fn all(length: usize) -> Self {
        Self(vec![0xFF; length].into())
    }

    /// The bits that are 1 in `bytes`.
    pub fn from_bytes(bytes: &[u8]) -> Self {
        Self(bytes.into())
    }

    /// One byte for each byte of the record, with the bits of the mask 1.
    pub fn as_bytes(&self) -> &[u8] {
        &self.0
    }

    /// The bits in which two records differ; a byte that only one of them has differs whole.
    pub fn differing(a: &[u8], b: &[u8]) -> Self {
        let length = a.len().max(b.len());
        Self(
            (0..length)
                .map(|at| match (a.get(at), b.get(at)) {
                    (Some(x), Some(y)) => x ^ y,
                    _ => 0xFF,
                })
                .collect(),
        )
    }

    /// The length in bytes of the record that the mask is for.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether the mask holds no bit.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|byte| *byte == 0)
    }

    /// How many bits the mask holds.
    pub fn count(&self) -> u32 {
        self.0.iter().map(|byte| byte.count_ones()).sum()
    }

    /// The mask of byte `at`; 0 beyond its length.
    pub fn byte(&self, at: usize) -> u8 {
        self.0.get(at).copied().unwrap_or(0)
    }

    /// Adds the bits `mask` of byte `at`, making the mask longer where needed.
    pub fn insert(&mut self, at: usize, mask: u8) {
        if at >= self.0.len() {
            let longer = std::iter::repeat_n(0, at + 1 - self.0.len());
            self.0 = self.0.iter().copied().chain(longer).collect();
        }
        if self.0[at] | mask != self.0[at] {
            Arc::make_mut(&mut self.0)[at] |= mask;
        }
    }

    /// Adds every bit of `other`.
    pub fn add(&mut self, other: &Self) {
        for (at, mask) in other.0.iter().enumerate() {
            self.insert(at, *mask);
        }
    }

    /// Takes away every bit of `other`.
    pub fn remove(&mut self, other: &Self) {
        for (byte, mask) in Arc::make_mut(&mut self.0).iter_mut().zip(&*other.0) {
            *byte &= !mask;
        }
    }

    /// The same without the bits of `other`.
    #[must_use]
    pub fn without(mut self, other: &Self) -> Self {
        self.remove(other);
        self
    }

    /// The bits that both hold.
    pub fn common(&self, other: &Self) -> Self {
        Self((0..self.len().max(other.len())).map(|at| self.byte(at) & other.byte(at)).collect())
    }

    /// Whether both hold a bit.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.0.iter().zip(&*other.0).any(|(a, b)| a & b != 0)
    }

    /// The bits of `record` that the mask holds, all others 0; the record's length is kept.
    pub fn of(&self, record: &[u8]) -> Vec<u8> {
        record.iter().enumerate().map(|(at, byte)| byte & self.byte(at)).collect()
    }

    /// Copies the bits of the mask from one record into another; bits that either lacks are left.
    pub fn copy(&self, from: &[u8], into: &mut [u8]) {
        for (at, (target, source)) in into.iter_mut().zip(from).enumerate() {
            let mask = self.byte(at);
            *target = *target & !mask | source & mask;
        }
    }

    /// The bits as (byte, bit) pairs, bit 0 the least significant.
    pub fn bits(&self) -> impl Iterator<Item = (usize, u8)> + '_ {
        self.0
            .iter()
            .enumerate()
            .flat_map(|(at, mask)| (0..8).filter(move |bit| mask >> bit & 1 == 1).map(move |bit| (at, bit)))
    }
}

/// As people write bits: `byte 0 bits 0-2, byte 3`; empty where there are none.
impl fmt::Display for BitMask {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut parts = Vec::new();
        for (at, mask) in self.0.iter().enumerate() {
            let bits: Vec<u8> = (0..8).filter(|bit| mask >> bit & 1 == 1).collect();
            parts.push(match bits.as_slice() {
                [] => continue,
                [bit] => format!("byte {at} bit {bit}"),
                all if all.len() == 8 => format!("byte {at}"),
                [first, .., last] if usize::from(last - first) + 1 == bits.len() => {
                    format!("byte {at} bits {first}-{last}")
                }
                bits => {
                    let list: Vec<String> = bits.iter().map(ToString::to_string).collect();
                    format!("byte {at} bits {}", list.join(","))
                }
            });
        }
        f.pad(&parts.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn copies_only_its_own_bits() {
        let mut mask = BitMask::none(2);
        mask.insert(1, 0x0F);
        let mut into = [0x11, 0xAB];
        mask.copy(&[0xFF, 0xFF], &mut into);
        assert_eq!(into, [0x11, 0xAF]);
        assert_eq!(mask.of(&[0xFF, 0xFF]), [0x00, 0x0F]);
        assert_eq!(mask.bits().collect::<Vec<_>>(), [(1, 0), (1, 1), (1, 2), (1, 3)]);
    }

    #[test]
    fn a_byte_that_one_record_lacks_differs_whole() {
        let mask = BitMask::differing(&[0x01], &[0x03, 0x00]);
        assert_eq!((mask.byte(0), mask.byte(1), mask.count()), (0x02, 0xFF, 9));
    }

    #[test]
    fn bits_are_named_by_byte() {
        let mut mask = BitMask::none(4);
        assert_eq!(mask.to_string(), "");
        for (at, bits) in [(0, 0b0111), (1, 0b1000_0001), (2, 0xFF), (3, 0b10)] {
            mask.insert(at, bits);
        }
        assert_eq!(mask.to_string(), "byte 0 bits 0-2, byte 1 bits 0,7, byte 2, byte 3 bit 1");
    }
}
