//! A seal made to be read out and typed.

use std::fmt;
use std::str::FromStr;

use super::full::number_of_entries;
use super::{Seal, SealError};
use asfound_core::base32::{character, check_symbol, checks, symbol};

/// How many characters a group has.
const GROUP: usize = 5;
/// How many bytes of the root are told: 120 bits.
const BYTES: usize = 15;
/// How many characters tell them, five bits each.
const ROOT: usize = BYTES * 8 / 5;
/// The largest number of digits that a number of entries has, in whole groups.
const MOST_DIGITS: usize = 20;

/// The number of entries and the first 120 bits of the root, in groups of five: `00012-7Q4M9-…-X2D8K`.
///
/// The first group is the number in decimal, padded with zeros (more groups where it is larger); the
/// other five are 24 characters of the root and a check character, which catches every single wrong
/// character and every swap of two adjacent ones. Large or small letters, spaces and dashes do not matter, and
/// O, I and L are read as 0, 1 and 1. Because there are whole groups only, one that is missing or too many is noticed too.
///
/// To alter a sealed journal and keep its short seal takes about 2¹²⁰ tries. Somebody who prepares two journals before
/// either is sealed needs about 2⁶⁰; the full form needs 2¹²⁸ then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ShortSeal {
    entries: u64,
    start: [u8; BYTES],
}

impl ShortSeal {
    /// The short form of a seal.
    pub fn of(seal: &Seal) -> Self {
        let mut start = [0; BYTES];
        start.copy_from_slice(&seal.root.as_bytes()[..BYTES]);
        Self { entries: seal.entries, start }
    }

    /// How many entries it states.
    pub fn entries(&self) -> u64 {
        self.entries
    }

    /// Whether it is the short form of `seal`.
    pub fn fits(&self, seal: &Seal) -> bool {
        *self == Self::of(seal)
    }

    /// Number and root as symbols, without the check symbol.
    fn symbols(&self) -> Vec<u8> {
        let digits = self.entries.to_string();
        let width = digits.len().next_multiple_of(GROUP);
        let mut symbols: Vec<u8> = format!("{digits:0>width$}").bytes().map(|digit| digit - b'0').collect();
        // Eight characters are five bytes.
        for five in self.start.chunks_exact(5) {
            let bits = five.iter().fold(0u64, |bits, byte| bits << 8 | u64::from(*byte));
            symbols.extend((0..8).rev().map(|at| (bits >> (5 * at) & 31).to_le_bytes()[0]));
        }
        symbols
    }
}

impl fmt::Display for ShortSeal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut symbols = self.symbols();
        symbols.push(check_symbol(&symbols));
        let groups = symbols.chunks(GROUP).map(|group| group.iter().copied().map(character).collect());
        f.pad(&groups.collect::<Vec<String>>().join("-"))
    }
}

/// What people put between groups.
fn separates(c: char) -> bool {
    // The dashes of typesetters are from U+2010 to U+2015; U+2212 is the minus sign.
    c.is_whitespace() || matches!(c, '-' | '_' | '.' | '\u{2010}'..='\u{2015}' | '\u{2212}')
}

impl FromStr for ShortSeal {
    type Err = SealError;
    fn from_str(text: &str) -> Result<Self, SealError> {
        let typed = text.chars().filter(|c| !separates(*c));
        let symbols: Vec<u8> = typed.map(|c| symbol(c).ok_or(SealError::Character(c))).collect::<Result<_, _>>()?;
        let digits = symbols.len().saturating_sub(ROOT + 1);
        if digits == 0 || digits > MOST_DIGITS || !digits.is_multiple_of(GROUP) {
            return Err(SealError::Length { found: symbols.len() });
        }
        if !checks(&symbols) {
            return Err(SealError::Typo);
        }
        let number: String = symbols[..digits].iter().copied().map(character).collect();
        if digits > GROUP && number.starts_with("00000") {
            return Err(SealError::Entries(number));
        }
        let entries = number_of_entries(number.trim_start_matches('0'))?;
        let mut start = [0; BYTES];
        for (five, eight) in start.chunks_exact_mut(5).zip(symbols[digits..].chunks_exact(8)) {
            let bits = eight.iter().fold(0u64, |bits, symbol| bits << 5 | u64::from(*symbol));
            five.copy_from_slice(&bits.to_be_bytes()[3..]);
        }
        Ok(Self { entries, start })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::Digest;

    fn seals() -> impl Strategy<Value = Seal> {
        let entries = prop_oneof![1..20u64, 1..200_000u64, 1..=u64::MAX];
        (entries, any::<[u8; 32]>()).prop_map(|(entries, root)| Seal { entries, root: Digest::from(root) })
    }

    /// Against what follows from Crockford's alphabet by hand: bits all zero, all one, and the symbols in their order.
    #[test]
    fn the_form_is_groups_of_five() {
        let seal = |root: [u8; 32]| Seal { entries: 12, root: Digest::from(root) }.short().to_string();
        assert!(seal([0; 32]).starts_with("00012-00000-00000-00000-00000-0000"), "{}", seal([0; 32]));
        assert!(seal([0xFF; 32]).starts_with("00012-ZZZZZ-ZZZZZ-ZZZZZ-ZZZZZ-ZZZZ"));
        // The first 24 symbols in order, five bits each, are these 15 bytes (computed with Python's integers).
        let mut root = [0; 32];
        root[..15].copy_from_slice(&[
            0x00, 0x44, 0x32, 0x14, 0xC7, 0x42, 0x54, 0xB6, 0x35, 0xCF, 0x84, 0x65, 0x3A, 0x56, 0xD7,
        ]);
        assert!(seal(root).starts_with("00012-01234-56789-ABCDE-FGHJK-MNPQ"), "{}", seal(root));
        let large = Seal { entries: 123_456, root: Digest::from([0; 32]) };
        assert!(large.short().to_string().starts_with("00001-23456-00000-"));
        assert_eq!(Seal { entries: u64::MAX, ..large }.short().to_string().len(), 9 * 6 - 1);
    }

    proptest! {
        #[test]
        fn it_is_read_back_however_it_is_typed(seal in seals(), between in prop::sample::select(vec!["-", " ", "", " – ", "\n"])) {
            let text = seal.short().to_string();
            let read = text.parse::<ShortSeal>().unwrap();
            prop_assert_eq!(read, seal.short());
            prop_assert!(read.fits(&seal) && read.entries() == seal.entries);
            let typed = text.to_lowercase().replace('-', between).replace('0', "o").replace('1', "l");
            prop_assert_eq!(typed.parse::<ShortSeal>(), Ok(read));
            prop_assert_eq!(typed.replace('l', "I").parse::<ShortSeal>(), Ok(read));
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// Exhaustive for each seal: every place, every printable character in it, every swap of neighbours.
        #[test]
        fn every_wrong_character_and_every_swap_is_noticed(seal in seals()) {
            let text: Vec<char> = seal.short().to_string().chars().collect();
            let read = |text: &[char]| text.iter().collect::<String>().parse::<ShortSeal>();
            let typed: Vec<usize> = (0..text.len()).filter(|at| text[*at] != '-').collect();
            for at in 0..text.len() {
                for c in (' '..='~').chain(['é', '–']) {
                    let mut wrong = text.clone();
                    wrong[at] = c;
                    let same = symbol(c) == symbol(text[at]) && (symbol(c).is_some() || separates(c));
                    prop_assert_eq!(read(&wrong).ok(), same.then(|| seal.short()), "{:?} at {} of {:?}", c, at, text);
                }
                // One missing, one too many.
                let mut wrong = text.clone();
                let lost = wrong.remove(at);
                prop_assert_eq!(read(&wrong).is_ok(), lost == '-');
                wrong.insert(at, lost);
                wrong.insert(at, '7');
                prop_assert!(read(&wrong).is_err());
            }
            // Neighbours as they stand on paper, and neighbours with a dash between them.
            let pairs = (1..text.len()).map(|at| (at - 1, at)).chain(typed.windows(2).map(|pair| (pair[0], pair[1])));
            for (a, b) in pairs {
                let mut swapped = text.clone();
                swapped.swap(a, b);
                let same = text[a] == text[b] || text[a] == '-' || text[b] == '-';
                prop_assert_eq!(read(&swapped).ok(), same.then(|| seal.short()), "{:?}", swapped);
            }
        }
    }

    #[test]
    fn what_is_wrong_is_told_in_words() {
        let good = Seal { entries: 12, root: Digest::from([0xA7; 32]) }.short().to_string();
        let told = |text: &str| text.parse::<ShortSeal>().unwrap_err().to_string();
        assert_eq!(
            told(&good.replacen('2', "3", 1)),
            "there is a typing error in the seal: a character is wrong, or two are swapped"
        );
        assert!(told(&good[1..]).ends_with("here are 29 characters: one is missing"));
        assert!(told(&format!("{good}7")).ends_with("here are 31 characters: one is too many"));
        assert!(told(&good[..11]).ends_with("here are 10 characters: some are missing"));
        assert!(told("").ends_with("nothing was typed"));
        assert_eq!("U".parse::<ShortSeal>().unwrap_err().hint(), "it may be a V");
        // No journal is sealed before its first entry, and a number has one spelling.
        let zero = Seal { entries: 0, root: Digest::from([1; 32]) }.short().to_string();
        assert_eq!(zero.parse::<ShortSeal>(), Err(SealError::Entries(String::new())));
        let mut symbols = vec![0; 5];
        symbols.extend(Seal { entries: 12, root: Digest::from([1; 32]) }.short().symbols());
        symbols.push(check_symbol(&symbols));
        let padded: String = symbols.into_iter().map(character).collect();
        assert_eq!(padded.parse::<ShortSeal>(), Err(SealError::Entries("0000000012".to_owned())));
    }
}
