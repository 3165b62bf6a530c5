//! The character encoding of a table.

use std::fmt;
use std::str::FromStr;

use encoding_rs::Encoding;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::printable::shortened;

/// Why a text names no encoding.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("unknown encoding `{}`: give a label such as utf-8, windows-1252, iso-8859-2 or shift_jis", shortened(.0))]
pub struct UnknownEncoding(String);

/// A character encoding, by any label of the WHATWG Encoding Standard (`windows-1252`, `latin1`, `utf-16le` …).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct TableEncoding(&'static Encoding);

impl TableEncoding {
    /// UTF-8: what a table without a byte-order mark is taken for.
    pub const UTF_8: Self = Self(encoding_rs::UTF_8);

    /// The name of the encoding in the standard, such as `windows-1252`.
    pub fn name(self) -> &'static str {
        self.0.name()
    }

    /// The encoding that a byte-order mark announces, and the length of the mark in bytes.
    pub(super) fn of_mark(bytes: &[u8]) -> Option<(Self, usize)> {
        Encoding::for_bom(bytes).map(|(encoding, length)| (Self(encoding), length))
    }

    /// A decoder that leaves byte-order marks to us.
    pub(super) fn decoder(self) -> encoding_rs::Decoder {
        self.0.new_decoder_without_bom_handling()
    }
}

impl FromStr for TableEncoding {
    type Err = UnknownEncoding;
    fn from_str(label: &str) -> Result<Self, UnknownEncoding> {
        // Without the labels that the standard maps to "replacement": they decode nothing.
        Encoding::for_label_no_replacement(label.as_bytes()).map(Self).ok_or_else(|| UnknownEncoding(label.to_owned()))
    }
}

impl TryFrom<String> for TableEncoding {
    type Error = UnknownEncoding;
    fn try_from(label: String) -> Result<Self, UnknownEncoding> {
        label.parse()
    }
}

impl From<TableEncoding> for String {
    fn from(encoding: TableEncoding) -> String {
        encoding.to_string()
    }
}

impl fmt::Display for TableEncoding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Labels from the table in section 4.2 of the WHATWG Encoding Standard (from memory).
    #[test]
    fn labels_of_the_standard() {
        for (label, name) in [
            ("latin1", "windows-1252"),
            ("ISO-8859-1", "windows-1252"),
            ("utf8", "UTF-8"),
            (" utf-16 ", "UTF-16LE"),
            ("cp1250", "windows-1250"),
        ] {
            assert_eq!(label.parse::<TableEncoding>().unwrap().name(), name, "{label}");
        }
        for label in ["", "ansi", "iso-2022-kr", "utf-32"] {
            assert!(label.parse::<TableEncoding>().is_err(), "{label}");
        }
    }
}
