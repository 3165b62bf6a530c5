//! A column mapping as a file, to be kept under a name and used again.

use asfound_core::names::ModuleName;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::encoding::TableEncoding;
use super::mapping::ColumnMapping;
use super::options::TableOptions;
use super::printable::{printable, shortened};
use super::separator::Separator;

/// The format that is written and read.
const FORMAT: &str = "asfound-columns/1";

/// Why a saved column mapping cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SavedColumnsError {
    /// No TOML, or not with these keys and values; the message names line and column.
    #[error("{}", .0.to_string().lines().map(printable).collect::<Vec<_>>().join("\n"))]
    Toml(toml::de::Error),
    /// No format, or another one.
    #[error("the format is {}, not `{FORMAT}`", match .0 { Some(found) => format!("`{}`", shortened(found)), None => "not given".into() })]
    Format(Option<String>),
}

/// How one kind of table is read: its columns and what else has to be said each time.
///
/// As a file:
///
/// ```toml
/// format = "asfound-columns/1"
/// separator = "semicolon"      # optional
/// encoding = "windows-1252"    # optional
/// module = "body"              # optional: the module of all rows, where no column names it
///
/// [columns]
/// setting = "Name"             # a header, or "#3" for the third column
/// value = "Value"
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedColumns {
    /// Which column holds what.
    pub columns: ColumnMapping,
    /// What separates the cells, where it is to be fixed.
    pub separator: Option<Separator>,
    /// The character encoding of files without byte-order mark, where it is to be fixed.
    pub encoding: Option<TableEncoding>,
    /// The module that all rows are about.
    pub module: Option<ModuleName>,
}

/// The file, key by key.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SavedColumnsFile {
    format: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    separator: Option<Separator>,
    #[serde(skip_serializing_if = "Option::is_none")]
    encoding: Option<TableEncoding>,
    #[serde(skip_serializing_if = "Option::is_none")]
    module: Option<ModuleName>,
    columns: ColumnMapping,
}

/// The one key that decides how the others are to be read.
#[derive(Deserialize)]
struct Head {
    format: Option<String>,
}

impl SavedColumns {
    /// Reads the text of a file.
    pub fn from_toml(text: &str) -> Result<Self, SavedColumnsError> {
        let head: Head = toml::from_str(text).map_err(SavedColumnsError::Toml)?;
        if head.format.as_deref() != Some(FORMAT) {
            return Err(SavedColumnsError::Format(head.format));
        }
        let SavedColumnsFile { format: _, separator, encoding, module, columns } =
            toml::from_str(text).map_err(SavedColumnsError::Toml)?;
        Ok(Self { columns, separator, encoding, module })
    }

    /// The text of the file.
    #[allow(clippy::missing_panics_doc, reason = "it cannot happen, as said there")]
    pub fn to_toml(&self) -> String {
        let Self { columns, separator, encoding, module } = self.clone();
        let file = SavedColumnsFile { format: FORMAT.to_owned(), separator, encoding, module, columns };
        toml::to_string(&file).expect("texts in a table of texts can always be written")
    }

    /// As options to read a table by.
    pub fn into_options(self) -> TableOptions {
        let Self { columns, separator, encoding, module } = self;
        TableOptions { columns: Some(columns), separator, encoding, module }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_back_what_it_writes() {
        let mut saved = SavedColumns {
            columns: "module=\"#1\",record=#2,bytes=\"Data, raw\"".parse().unwrap(),
            separator: None,
            encoding: None,
            module: None,
        };
        assert_eq!(
            saved.to_toml(),
            "format = \"asfound-columns/1\"\n\n[columns]\nmodule = '\"#1\"'\nrecord = \"#2\"\nbytes = \"Data, raw\"\n"
        );
        assert_eq!(SavedColumns::from_toml(&saved.to_toml()), Ok(saved.clone()));
        saved.separator = Some(Separator::TAB);
        saved.encoding = Some("latin1".parse().unwrap());
        saved.module = Some("body".parse().unwrap());
        assert_eq!(SavedColumns::from_toml(&saved.to_toml()), Ok(saved));
    }

    #[test]
    fn says_what_is_wrong_and_where() {
        let fault = |text: &str| SavedColumns::from_toml(text).unwrap_err().to_string();
        assert_eq!(
            fault("format = \"asfound-columns/2\""),
            "the format is `asfound-columns/2`, not `asfound-columns/1`"
        );
        assert_eq!(fault("a = 1"), "the format is not given, not `asfound-columns/1`");
        let head = "format = \"asfound-columns/1\"\n";
        for (rest, part) in [
            ("colums = {}", "unknown field `colums`"),
            ("[columns]\nmodul = \"A\"", "did you mean `module`?"),
            ("[columns]\nsetting = \"A\"", "makes no sense without one for `value`"),
            ("[columns]\nserial = \"#0\"", "columns are numbered from `#1`"),
            ("separator = \"x\"\n[columns]\nserial = \"A\"", "unknown separator `x`"),
            ("encoding = \"x\"\n[columns]\nserial = \"A\"", "unknown encoding `x`"),
            ("module = \"X\"\n[columns]\nserial = \"A\"", "`X` cannot be a module name"),
            ("[columns", "line 2"),
        ] {
            let message = fault(&format!("{head}{rest}"));
            assert!(message.contains(part) && message.contains("line "), "{message}");
        }
        // The message repeats the line, and must not drive the terminal.
        let message = fault(&format!("{head}separator = \"\u{1b}[2J\""));
        assert!(message.contains("‹U+001B›[2J") && !message.contains('\u{1b}'), "{message}");
    }
}
