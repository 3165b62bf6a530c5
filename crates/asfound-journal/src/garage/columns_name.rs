//! The name of a column mapping.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// The longest name that is accepted, in characters.
const LONGEST: usize = 64;

/// Why the name of a column mapping was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{0}` cannot be the name of a column mapping: give 1 to {LONGEST} of a to z, 0 to 9, `-` and `_`, starting with a letter"
)]
pub struct ColumnsNameError(String);

/// The name under which a column mapping is kept, such as `bench-two`.
///
/// Lower case only, because some file systems do not tell cases apart.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ColumnsName(String);

impl ColumnsName {
    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for ColumnsName {
    type Err = ColumnsNameError;
    fn from_str(text: &str) -> Result<Self, ColumnsNameError> {
        let allowed = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-' || b == b'_';
        let starts = text.bytes().next().is_some_and(|b| b.is_ascii_lowercase());
        if starts && text.len() <= LONGEST && text.bytes().all(allowed) {
            Ok(Self(text.to_owned()))
        } else {
            Err(ColumnsNameError(text.chars().take(LONGEST + 8).collect()))
        }
    }
}

impl fmt::Display for ColumnsName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_file_names_are_accepted() {
        assert_eq!("bench-two_1".parse::<ColumnsName>().unwrap().as_str(), "bench-two_1");
        for bad in ["", "-a", "2a", "A", "a.b", "a/b", "..", "a b", "ä"] {
            assert!(bad.parse::<ColumnsName>().is_err(), "{bad:?}");
        }
        assert!("a".repeat(65).parse::<ColumnsName>().is_err());
    }
}
