//! What is to be verified.

use std::convert::Infallible;
use std::path::PathBuf;
use std::str::FromStr;

use asfound_core::names::Tag;

/// A journal or a file, told apart by how it is written: whatever can be a tag is one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Subject {
    /// The journal of a vehicle.
    Journal(Tag),
    /// A file that somebody handed over.
    File(PathBuf),
}

impl FromStr for Subject {
    type Err = Infallible;
    fn from_str(text: &str) -> Result<Self, Infallible> {
        Ok(text.parse().map_or_else(|_| Self::File(PathBuf::from(text)), Self::Journal))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_is_a_journal_and_anything_else_a_file() {
        assert_eq!("wren".parse(), Ok(Subject::Journal("wren".parse().unwrap())));
        for file in ["./wren", "wren.toml", "a/wren", "Wren"] {
            assert_eq!(file.parse(), Ok(Subject::File(PathBuf::from(file))));
        }
    }
}
