//! A seal in full.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{SealError, ShortSeal};
use crate::Digest;
use crate::merkle::root_of;

/// How many entries a journal has and the root over their leaves.
///
/// Written `<entries>:<64 hexadecimal digits>`. Two journals with the same seal have the same entries, to the byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Seal {
    /// How many entries.
    pub entries: u64,
    /// The root over the leaves of all of them.
    pub root: Digest,
}

impl Seal {
    /// The seal over entries whose leaf hashes are given, in order.
    pub fn over(leaves: &[Digest]) -> Self {
        Self { entries: leaves.len() as u64, root: root_of(leaves) }
    }

    /// The form that is made to be read out and typed.
    pub fn short(&self) -> ShortSeal {
        ShortSeal::of(self)
    }
}

/// Spaces and line ends are overlooked, as they come in when a text is copied from a letter or an e-mail.
impl FromStr for Seal {
    type Err = SealError;
    fn from_str(text: &str) -> Result<Self, SealError> {
        let text: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let (entries, root) = text.split_once(':').unwrap_or((&text, ""));
        Ok(Self { entries: number_of_entries(entries)?, root: root.to_ascii_lowercase().parse()? })
    }
}

/// A number of entries in its only spelling.
pub(super) fn number_of_entries(text: &str) -> Result<u64, SealError> {
    let wrong = || SealError::Entries(text.chars().take(40).collect());
    let digits = text.bytes().all(|byte| byte.is_ascii_digit()) && !text.starts_with('0');
    if digits { text.parse().map_err(|_| wrong()) } else { Err(wrong()) }
}

impl TryFrom<String> for Seal {
    type Error = SealError;
    fn try_from(text: String) -> Result<Self, SealError> {
        text.parse()
    }
}

impl From<Seal> for String {
    fn from(seal: Seal) -> String {
        seal.to_string()
    }
}

impl fmt::Display for Seal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.entries, self.root)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::merkle::leaf;

    #[test]
    fn the_full_form_is_read_back_and_forgives_line_breaks() {
        let seal = Seal::over(&[leaf(b"a"), leaf(b"b"), leaf(b"c")]);
        assert_eq!(seal.entries, 3);
        let text = seal.to_string();
        assert_eq!(text.parse(), Ok(seal));
        assert_eq!(format!(" {}\r\n  {}\n", &text[..30], &text[30..]).parse(), Ok(seal));
        assert_eq!(text.to_uppercase().parse(), Ok(seal));
        assert_eq!(Seal { entries: u64::MAX, ..seal }.to_string().parse(), Ok(Seal { entries: u64::MAX, ..seal }));
    }

    #[test]
    fn what_is_no_seal_is_refused() {
        let root = leaf(b"a");
        for entries in ["", "0", "012", "-1", "+1", "x", "18446744073709551616"] {
            assert_eq!(format!("{entries}:{root}").parse::<Seal>(), Err(SealError::Entries(entries.to_owned())));
        }
        for root in
            [String::new(), root.to_string()[1..].to_owned(), format!("{root}0"), root.to_string().replace('0', "g")]
        {
            assert!(matches!(format!("12:{root}").parse::<Seal>(), Err(SealError::Root(_))), "{root}");
        }
        assert!("12".parse::<Seal>().is_err());
    }
}
