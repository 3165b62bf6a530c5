//! What a column can hold, and which column of a table it is.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::nearest::nearest;
use super::printable::shortened;

/// Why a text is no key of a column mapping.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{}` is nothing a column can hold{}", shortened(.text), match .near {
    Some(near) => format!("; did you mean `{near}`?"),
    None => format!(": the keys are {}", ColumnKey::ALL.map(ColumnKey::as_str).join(", ")),
})]
pub struct UnknownColumnKey {
    text: String,
    near: Option<ColumnKey>,
}

impl UnknownColumnKey {
    fn of(text: &str) -> Self {
        let near = nearest(text, ColumnKey::ALL.map(ColumnKey::as_str)).and_then(ColumnKey::of_header);
        Self { text: text.to_owned(), near }
    }
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum ColumnKey {
    /// The control module that the row is about.
    Module,
    /// A setting, by name or by label.
    Setting,
    /// The value of the setting.
    Value,
    /// A record, by data identifier or by name.
    Record,
    /// The bytes of the record, in hexadecimal.
    Bytes,
    /// The part number of the module.
    PartNumber,
    /// The hardware version of the module.
    Hardware,
    /// The software version of the module.
    Software,
    /// The serial number of the module.
    Serial,
    /// A trouble code that the module had.
    TroubleCode,
    /// The status of the trouble code.
    Status,
}

impl ColumnKey {
    /// All keys.
    pub const ALL: [Self; 11] = [
        Self::Module,
        Self::Setting,
        Self::Value,
        Self::Record,
        Self::Bytes,
        Self::PartNumber,
        Self::Hardware,
        Self::Software,
        Self::Serial,
        Self::TroubleCode,
        Self::Status,
    ];

    /// The keys that make up the identity of a module.
    pub const IDENTITY: [Self; 4] = [Self::PartNumber, Self::Hardware, Self::Software, Self::Serial];

    /// The key as it is written in a mapping.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Module => "module",
            Self::Setting => "setting",
            Self::Value => "value",
            Self::Record => "record",
            Self::Bytes => "bytes",
            Self::PartNumber => "part_number",
            Self::Hardware => "hardware",
            Self::Software => "software",
            Self::Serial => "serial",
            Self::TroubleCode => "trouble_code",
            Self::Status => "status",
        }
    }

    /// The key that a header says literally: ignoring case, with spaces or `-` for `_` (`Part number`).
    pub(super) fn of_header(header: &str) -> Option<Self> {
        let text = header.trim().to_ascii_lowercase().replace([' ', '-'], "_");
        Self::ALL.into_iter().find(|key| key.as_str() == text)
    }

    /// What it makes no sense without.
    pub(super) fn needs(self) -> Option<Self> {
        match self {
            Self::Setting => Some(Self::Value),
            Self::Value => Some(Self::Setting),
            Self::Record => Some(Self::Bytes),
            Self::Bytes => Some(Self::Record),
            Self::Status => Some(Self::TroubleCode),
            _ => None,
        }
    }
}

impl FromStr for ColumnKey {
    type Err = UnknownColumnKey;
    fn from_str(text: &str) -> Result<Self, UnknownColumnKey> {
        Self::of_header(text).ok_or_else(|| UnknownColumnKey::of(text))
    }
}

impl TryFrom<String> for ColumnKey {
    type Error = UnknownColumnKey;
    /// In files a key has one spelling, so that none can stand there twice.
    fn try_from(text: String) -> Result<Self, UnknownColumnKey> {
        let exact = Self::ALL.into_iter().find(|key| key.as_str() == text);
        exact.ok_or_else(|| UnknownColumnKey::of(&text))
    }
}

impl From<ColumnKey> for String {
    fn from(key: ColumnKey) -> String {
        key.as_str().to_owned()
    }
}

impl fmt::Display for ColumnKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

/// Why a text names no column.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ColumnPlaceError {
    /// No text.
    #[error("a column needs a header or a number such as `#3`")]
    Empty,
    /// Column 0, or a number too large.
    #[error("invalid column `{}`: columns are numbered from `#1`", shortened(.0))]
    Number(String),
}

/// Which column of a table: by its header, or by its number from 1.
///
/// Written as the header, or as `#3` for the third column. A header that itself looks like that, or begins with a
/// quotation mark, is written between quotation marks, with those within it doubled.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum ColumnPlace {
    /// The column with this header, whatever the case of its letters. Trimmed and never empty.
    Header(String),
    /// The column with this number, from 1.
    Number(usize),
}

impl ColumnPlace {
    /// The column with the header, as it is.
    pub(super) fn header(text: &str) -> Result<Self, ColumnPlaceError> {
        match text.trim() {
            "" => Err(ColumnPlaceError::Empty),
            text => Ok(Self::Header(text.to_owned())),
        }
    }
}

impl FromStr for ColumnPlace {
    type Err = ColumnPlaceError;
    fn from_str(text: &str) -> Result<Self, ColumnPlaceError> {
        let text = text.trim();
        if let Some(digits) = text.strip_prefix('#').filter(|rest| numeric(rest)) {
            return match digits.parse() {
                Ok(number) if number > 0 => Ok(Self::Number(number)),
                _ => Err(ColumnPlaceError::Number(text.to_owned())),
            };
        }
        match text.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')) {
            Some(quoted) => Self::header(&quoted.replace("\"\"", "\"")),
            None => Self::header(text),
        }
    }
}

/// Whether the text is digits and nothing else.
fn numeric(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

impl TryFrom<String> for ColumnPlace {
    type Error = ColumnPlaceError;
    fn try_from(text: String) -> Result<Self, ColumnPlaceError> {
        text.parse()
    }
}

impl From<ColumnPlace> for String {
    fn from(place: ColumnPlace) -> String {
        place.to_string()
    }
}

impl fmt::Display for ColumnPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => f.pad(&format!("#{number}")),
            Self::Header(text) if text.starts_with('"') || text.strip_prefix('#').is_some_and(numeric) => {
                f.pad(&format!("\"{}\"", text.replace('"', "\"\"")))
            }
            Self::Header(text) => f.pad(text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_read_as_they_are_written() {
        for key in ColumnKey::ALL {
            assert_eq!(key.as_str().parse(), Ok(key));
        }
        assert_eq!("Part Number".parse(), Ok(ColumnKey::PartNumber));
        assert_eq!(
            "modul".parse::<ColumnKey>().unwrap_err().to_string(),
            "`modul` is nothing a column can hold; did you mean `module`?"
        );
        assert!("colour".parse::<ColumnKey>().unwrap_err().to_string().ends_with("trouble_code, status"));
    }

    #[test]
    fn places_are_read_as_they_are_written() {
        let header = |text: &str| ColumnPlace::Header(text.to_owned());
        for (text, place) in [
            ("ECU", header("ECU")),
            ("#3", ColumnPlace::Number(3)),
            ("# 3", header("# 3")),
            ("\"#3\"", header("#3")),
            ("\"\"\"x\"\"\"", header("\"x\"")),
        ] {
            assert_eq!(text.parse(), Ok(place.clone()), "{text}");
            assert_eq!(place.to_string(), text);
        }
        assert_eq!("  ".parse::<ColumnPlace>(), Err(ColumnPlaceError::Empty));
        for text in ["#0", "#99999999999999999999999"] {
            assert_eq!(text.parse::<ColumnPlace>(), Err(ColumnPlaceError::Number(text.into())));
        }
    }
}
