//! Bits that lie next to each other, and what they hold.

use std::fmt;

use super::BitMask;

/// Bits next to each other within one byte, or whole bytes next to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BitRun {
    /// The first byte, from 0.
    pub byte: usize,
    /// The lowest bit, from 0 for the least significant (ISO 22901-1); 0 where the run is whole bytes.
    pub bit: u8,
    /// How many bits.
    pub length: usize,
}

impl BitMask {
    /// The bits as runs, in the order of their bytes.
    pub fn runs(&self) -> Vec<BitRun> {
        let mut runs: Vec<BitRun> = Vec::new();
        for (byte, mask) in self.as_bytes().iter().enumerate() {
            if *mask == 0xFF {
                match runs.last_mut().filter(|last| last.is_whole() && last.byte + last.length / 8 == byte) {
                    Some(last) => last.length += 8,
                    None => runs.push(BitRun { byte, bit: 0, length: 8 }),
                }
                continue;
            }
            let mut bit = 0;
            while bit < 8 {
                let length = (mask >> bit).trailing_ones() as usize;
                if length > 0 {
                    runs.push(BitRun { byte, bit, length });
                }
                // At most 8 bits are left of a byte.
                bit += u8::try_from(length).unwrap_or(8) + 1;
            }
        }
        runs
    }
}

impl BitRun {
    /// Whether it is one or more whole bytes.
    pub fn is_whole(self) -> bool {
        self.length.is_multiple_of(8)
    }

    /// What `record` holds there: whole bytes in hexadecimal, fewer bits one digit for each, the most significant first.
    /// Nothing where the record ends before.
    pub fn of(self, record: &[u8]) -> Option<String> {
        if self.is_whole() {
            let bytes = record.get(self.byte..self.byte + self.length / 8)?;
            return Some(super::HexBytes::from(bytes.to_vec()).to_string());
        }
        Some(format!("{:0width$b}", self.number(record)?, width = self.length))
    }

    /// The bits as a number, where they lie in one byte.
    pub fn number(self, record: &[u8]) -> Option<u8> {
        let byte = *record.get(self.byte)?;
        (self.length <= 8).then(|| byte >> self.bit & (0xFF >> (8 - self.length)))
    }
}

/// As people write them: `byte 3 bit 2`, `byte 3 bits 0-2`, `byte 3`, `bytes 3-5`.
impl fmt::Display for BitRun {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { byte, bit, length } = *self;
        let text = match length {
            1 => format!("byte {byte} bit {bit}"),
            8 => format!("byte {byte}"),
            more if more > 8 => format!("bytes {byte}-{}", byte + more / 8 - 1),
            fewer => format!("byte {byte} bits {bit}-{}", usize::from(bit) + fewer - 1),
        };
        f.pad(&text)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn runs_stay_within_a_byte_unless_they_are_whole_ones() {
        let mask = BitMask::from_bytes(&[0b0110_0001, 0xFF, 0xFF, 0b1000_0000, 0b0000_0001]);
        let runs: Vec<String> = mask.runs().iter().map(ToString::to_string).collect();
        assert_eq!(runs, ["byte 0 bit 0", "byte 0 bits 5-6", "bytes 1-2", "byte 3 bit 7", "byte 4 bit 0"]);
        let record = [0b0100_0001, 0x0A, 0x1F, 0x80];
        let held: Vec<Option<String>> = mask.runs().iter().map(|run| run.of(&record)).collect();
        let held: Vec<Option<&str>> = held.iter().map(Option::as_deref).collect();
        assert_eq!(held, [Some("1"), Some("10"), Some("0A 1F"), Some("1"), None]);
    }

    proptest! {
        #[test]
        fn runs_are_all_bits_of_the_mask_and_no_others(bytes in proptest::collection::vec(any::<u8>(), 0..6)) {
            let mask = BitMask::from_bytes(&bytes);
            let mut again = BitMask::none(bytes.len());
            for run in mask.runs() {
                for bit in 0..run.length {
                    let at = usize::from(run.bit) + bit;
                    again.insert(run.byte + at / 8, 1 << (at % 8));
                }
            }
            prop_assert_eq!(again, mask);
        }
    }
}
