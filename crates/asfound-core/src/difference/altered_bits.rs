//! What became of bits that no definition names, in words.

use std::fmt;

use crate::value::{BitMask, BitRun};

/// So many runs of bits are named; of more than these, how many more there are.
const NAMED: usize = 4;
/// Of whole bytes next to each other, no more than this are shown.
const SHOWN: usize = 8;

/// A run of bits, and what it held and holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlteredRun {
    /// The bits.
    pub run: BitRun,
    /// What they held; nothing where that is not known.
    pub found: Option<String>,
    /// What they hold; nothing where that is not known.
    pub left: Option<String>,
}

/// What became of bits of a record: those of a mask that differ, or all of them where one side is not known.
///
/// As text: `byte 3 bit 2: 0 to 1, byte 5: 0A to 1F and 3 more`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlteredBits(Vec<AlteredRun>);

impl AlteredBits {
    /// Of the record's bytes on both sides.
    pub fn of(mask: &BitMask, found: Option<&[u8]>, left: Option<&[u8]>) -> Self {
        let differing = found.zip(left).map(|(a, b)| BitMask::differing(a, b).common(mask));
        let runs = differing.filter(|bits| !bits.is_empty()).unwrap_or_else(|| mask.clone()).runs();
        let side = |run: BitRun, bytes: Option<&[u8]>| bytes.and_then(|bytes| run.of(bytes));
        Self(runs.into_iter().map(|run| AlteredRun { run, found: side(run, found), left: side(run, left) }).collect())
    }

    /// The runs, in the order of their bytes.
    pub fn runs(&self) -> &[AlteredRun] {
        &self.0
    }
}

impl fmt::Display for AlteredRun {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let short = |text: &str| match text.char_indices().nth(SHOWN * 3 - 1) {
            Some((end, _)) => format!("{} …", &text[..end]),
            None => text.to_owned(),
        };
        let text = match (self.found.as_deref(), self.left.as_deref()) {
            (Some(found), Some(left)) if found != left => format!("{}: {} to {}", self.run, short(found), short(left)),
            (_, Some(now)) => format!("{}: {}", self.run, short(now)),
            (Some(was), None) => format!("{}: {} to ?", self.run, short(was)),
            (None, None) => self.run.to_string(),
        };
        f.pad(&text)
    }
}

impl fmt::Display for AlteredBits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named: Vec<String> = self.0.iter().take(NAMED).map(ToString::to_string).collect();
        let text = match self.0.len().saturating_sub(NAMED) {
            0 => named.join(", "),
            more => format!("{} and {more} more", named.join(", ")),
        };
        f.pad(&text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(mask: &[u8], found: Option<&[u8]>, left: Option<&[u8]>) -> String {
        AlteredBits::of(&BitMask::from_bytes(mask), found, left).to_string()
    }

    #[test]
    fn bits_are_told_with_what_they_held_and_hold() {
        let mask = [0, 0, 0, 0x04];
        assert_eq!(words(&mask, Some(&[9, 9, 9, 0xF3]), Some(&[8, 9, 9, 0xF7])), "byte 3 bit 2: 0 to 1");
        assert_eq!(words(&mask, None, Some(&[8, 9, 9, 0xF7])), "byte 3 bit 2: 1");
        assert_eq!(words(&mask, Some(&[9, 9, 9, 0xF3]), None), "byte 3 bit 2: 0 to ?");
        assert_eq!(
            words(&[0x0F, 0xFF], Some(&[0x53, 0x0A]), Some(&[0x51, 0xF5])),
            "byte 0 bit 1: 1 to 0, byte 1: 0A to F5"
        );
    }

    #[test]
    fn of_many_bits_the_first_are_named() {
        let (found, left) = ([0; 40], [0x55; 40]);
        assert_eq!(
            words(&[0xFF; 40], Some(&found), Some(&left)),
            "byte 0 bit 0: 0 to 1, byte 0 bit 2: 0 to 1, byte 0 bit 4: 0 to 1, byte 0 bit 6: 0 to 1 and 156 more"
        );
        let all = words(&[0xFF; 40], Some(&found), Some(&[0xFF; 40]));
        assert_eq!(all, "bytes 0-39: 00 00 00 00 00 00 00 00 … to FF FF FF FF FF FF FF FF …");
    }
}
