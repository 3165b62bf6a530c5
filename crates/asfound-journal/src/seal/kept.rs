//! A seal that somebody kept, in whichever form.

use std::fmt;
use std::str::FromStr;

use super::{Checkpoint, Seal, SealError, ShortSeal};

/// A seal as somebody kept it: in full (also inside a checkpoint note), or in the short form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum KeptSeal {
    /// In full.
    Full(Seal),
    /// In the short form.
    Short(ShortSeal),
}

impl KeptSeal {
    /// How many entries it is over.
    pub fn entries(&self) -> u64 {
        match self {
            Self::Full(seal) => seal.entries,
            Self::Short(seal) => seal.entries(),
        }
    }

    /// Whether `seal` is the one that was kept, as far as the form tells.
    pub fn fits(&self, seal: &Seal) -> bool {
        match self {
            Self::Full(kept) => kept == seal,
            Self::Short(kept) => kept.fits(seal),
        }
    }
}

/// Reads each form: a text with a colon is a seal in full, three lines are a checkpoint, anything else is a short seal.
///
/// The signatures of a checkpoint are not looked at: the seal is one that its reader vouches for.
impl FromStr for KeptSeal {
    type Err = SealError;
    fn from_str(text: &str) -> Result<Self, SealError> {
        // A root in full may itself be broken over lines; it never begins with a number alone on the second of three.
        let is_number = |line: &str| !line.is_empty() && line.bytes().all(|byte| byte.is_ascii_digit());
        if text.trim().lines().count() >= 3 && text.trim().lines().nth(1).is_some_and(is_number) {
            return Ok(Self::Full(Checkpoint::parse(text)?.seal));
        }
        if text.contains(':') { text.parse().map(Self::Full) } else { text.parse().map(Self::Short) }
    }
}

impl fmt::Display for KeptSeal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Full(seal) => seal.fmt(f),
            Self::Short(seal) => seal.fmt(f),
        }
    }
}

impl From<Seal> for KeptSeal {
    fn from(seal: Seal) -> Self {
        Self::Full(seal)
    }
}

impl From<ShortSeal> for KeptSeal {
    fn from(seal: ShortSeal) -> Self {
        Self::Short(seal)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::merkle::leaf;

    #[test]
    fn every_form_of_a_seal_is_recognised() {
        let leaves: Vec<_> = (0..12u8).map(|n| leaf(&[n])).collect();
        let (seal, other) = (Seal::over(&leaves), Seal::over(&leaves[..11]));
        let note = Checkpoint::new("example.com/wren", seal).unwrap().to_text();
        let signed = format!("{note}\n— example.com/wren YWJjZA==\n");
        let broken =
            format!("{}\n{}\n{}\n", &seal.to_string()[..20], &seal.to_string()[20..40], &seal.to_string()[40..]);
        let forms =
            [(seal.to_string(), true), (broken, true), (note, true), (signed, true), (seal.short().to_string(), false)];
        for (text, full) in forms {
            let kept: KeptSeal = text.parse().unwrap();
            assert_eq!(matches!(kept, KeptSeal::Full(_)), full, "{text}");
            assert!(kept.fits(&seal) && !kept.fits(&other) && kept.entries() == 12);
            assert!(!kept.fits(&Seal { entries: 11, ..seal }));
            assert_eq!(kept.to_string().parse(), Ok(kept));
        }
        // The end of the root is told by the full form only.
        let mut bytes = *seal.root.as_bytes();
        bytes[31] ^= 1;
        let close = Seal { root: bytes.into(), ..seal };
        assert!(KeptSeal::from(seal.short()).fits(&close) && !KeptSeal::from(seal).fits(&close));
    }
}
