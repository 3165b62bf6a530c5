//! The character between cells.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::printable::shortened;

/// Why a text names no separator.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("unknown separator `{}`: give comma, semicolon, tab or a single punctuation character", shortened(.0))]
pub struct UnknownSeparator(String);

/// Why no separator was found in the header line.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SeparatorFault {
    /// None of the separators that are looked for is there.
    #[error("the header line has no comma, semicolon or tab, so the columns cannot be told apart")]
    None,
    /// Two are there equally often.
    #[error("the header line has as many {0}s as {1}s, so it is not clear which one separates the columns")]
    Tie(Separator, Separator),
    /// The header line never ends, because a quotation mark stays open.
    #[error("a quotation mark in the header line is never closed")]
    OpenQuote,
}

impl SeparatorFault {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::None | Self::Tie(..) => {
                Some("say what separates the columns: --separator comma, semicolon or tab".into())
            }
            Self::OpenQuote => None,
        }
    }
}

/// The character between the cells of a table: one ASCII character, written `comma`, `semicolon`, `tab` or as itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Separator(u8);

impl Separator {
    /// `,`
    pub const COMMA: Self = Self(b',');
    /// `;`
    pub const SEMICOLON: Self = Self(b';');
    /// The tabulator.
    pub const TAB: Self = Self(b'\t');

    #[cfg(test)]
    pub(super) const PIPE: Self = Self(b'|');

    /// Those that are looked for in a header line.
    const USUAL: [Self; 3] = [Self::COMMA, Self::SEMICOLON, Self::TAB];

    /// The character as a byte.
    pub fn byte(self) -> u8 {
        self.0
    }

    /// The separator that occurs most often in the first line with content, outside quotation marks.
    pub(super) fn find(text: &str) -> Result<Self, SeparatorFault> {
        let mut found = Self::count(text)?;
        found.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
        match found {
            [(0, _), ..] => Err(SeparatorFault::None),
            [(most, first), (next, second), _] if most == next => Err(SeparatorFault::Tie(first, second)),
            [(_, first), ..] => Ok(first),
        }
    }

    /// How often each usual separator stands in the header line.
    fn count(text: &str) -> Result<[(usize, Self); 3], SeparatorFault> {
        let mut counts = Self::USUAL.map(|separator| (0, separator));
        let (mut starts_cell, mut quoted, mut just_closed, mut content) = (true, false, false, false);
        for byte in text.bytes() {
            if quoted {
                quoted = byte != b'"';
                just_closed = !quoted;
                continue;
            }
            match byte {
                // After a closing mark a second one is a mark within the cell.
                b'"' if starts_cell || just_closed => {
                    quoted = true;
                    content = true;
                }
                b'\n' | b'\r' if content => break,
                b'\n' | b'\r' => {
                    counts = Self::USUAL.map(|separator| (0, separator));
                    starts_cell = true;
                    continue;
                }
                _ => {}
            }
            starts_cell = false;
            just_closed = false;
            if let Some((count, _)) = counts.iter_mut().find(|(_, separator)| separator.0 == byte) {
                *count += 1;
                starts_cell = true;
            } else {
                content |= !byte.is_ascii_whitespace();
            }
        }
        if quoted { Err(SeparatorFault::OpenQuote) } else { Ok(counts) }
    }
}

impl FromStr for Separator {
    type Err = UnknownSeparator;
    fn from_str(text: &str) -> Result<Self, UnknownSeparator> {
        let named = match text.to_ascii_lowercase().as_str() {
            "comma" => Self::COMMA,
            "semicolon" => Self::SEMICOLON,
            "tab" | "\\t" | "\t" => Self::TAB,
            "space" => Self(b' '),
            _ => match text.as_bytes() {
                [byte] if byte.is_ascii_punctuation() && *byte != b'"' => Self(*byte),
                _ => return Err(UnknownSeparator(text.to_owned())),
            },
        };
        Ok(named)
    }
}

impl TryFrom<String> for Separator {
    type Error = UnknownSeparator;
    fn try_from(text: String) -> Result<Self, UnknownSeparator> {
        text.parse()
    }
}

impl From<Separator> for String {
    fn from(separator: Separator) -> String {
        separator.to_string()
    }
}

impl fmt::Display for Separator {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::COMMA => f.pad("comma"),
            Self::SEMICOLON => f.pad("semicolon"),
            Self::TAB => f.pad("tab"),
            Self(b' ') => f.pad("space"),
            Self(byte) => f.pad(&char::from(byte).to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_frequent_outside_quotes_wins() {
        for (text, separator) in [
            ("a,b;c,d\n;;;;", Separator::COMMA),
            ("a;b;c", Separator::SEMICOLON),
            ("a\tb", Separator::TAB),
            ("\"a,b,c\";d", Separator::SEMICOLON),
            ("\"a \"\"x,y,z\"\" b\";c\n", Separator::SEMICOLON),
            ("\"a\r\nb,c,d\";e", Separator::SEMICOLON),
            ("\n\r\n ; ; \na,b", Separator::COMMA),
            // A mark within a cell opens nothing.
            ("5\" wheel;a,b;c", Separator::SEMICOLON),
        ] {
            assert_eq!(Separator::find(text), Ok(separator), "{text:?}");
        }
    }

    #[test]
    fn what_is_not_clear_is_asked_for() {
        assert_eq!(Separator::find("a\n1,2"), Err(SeparatorFault::None));
        assert_eq!(Separator::find(""), Err(SeparatorFault::None));
        assert_eq!(Separator::find("a,b;c"), Err(SeparatorFault::Tie(Separator::COMMA, Separator::SEMICOLON)));
        assert_eq!(Separator::find("\"a,b\nc,d\n"), Err(SeparatorFault::OpenQuote));
    }

    #[test]
    fn is_written_by_name_or_as_itself() {
        for text in ["comma", "semicolon", "tab", "space", "|"] {
            assert_eq!(text.parse::<Separator>().unwrap().to_string(), text);
        }
        assert_eq!(",".parse(), Ok(Separator::COMMA));
        assert_eq!("\\t".parse(), Ok(Separator::TAB));
        for text in ["", "\"", "a", "0", "\n", ",,", "ä"] {
            assert!(text.parse::<Separator>().is_err(), "{text:?}");
        }
    }
}
