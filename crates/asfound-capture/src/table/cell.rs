//! Single cells: modules, settings, records and bytes.

use asfound_core::names::{ModuleName, RecordName, SettingPath};
use asfound_core::value::{HexBytes, HexError};
use thiserror::Error;

use super::printable::{printable, shortened};
use super::reading::SettingCell;
use super::slug_of::{module_name_of, setting_name_of};

/// What is wrong with a cell.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CellFault {
    /// No name can be made of it.
    #[error("`{}` gives no module name: it has no letter or digit, or too many of them", shortened(.0))]
    Module(String),
    /// Nothing says which module the setting belongs to.
    #[error("`{}` does not say which module it belongs to", shortened(.0))]
    SettingWithoutModule(String),
    /// The cell names another module than the rest of the row.
    #[error("`{setting}` names another module than its row, which is about `{module}`")]
    OtherModule {
        /// The setting with the module that the cell names.
        setting: SettingPath,
        /// The module of the row.
        module: ModuleName,
    },
    /// Neither a data identifier nor the name of a block.
    #[error("invalid record `{}`", shortened(.0))]
    Record(String),
    /// No hexadecimal.
    #[error("invalid bytes `{}`: {}", shortened(.text), printable(&.fault.to_string()))]
    Bytes {
        /// The text of the cell.
        text: String,
        /// What is wrong with it.
        fault: HexError,
    },
    /// Separators and prefixes without a digit.
    #[error("`{}` holds no bytes", shortened(.0))]
    NoBytes(String),
}

impl CellFault {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::SettingWithoutModule(_) => Some(
                "map a column to module, give one module for all rows with --module, or write module.setting".into(),
            ),
            Self::Record(_) => Some(
                "a data identifier is four hexadecimal digits, as in 0D01 (a spreadsheet drops leading zeros of cells that are not text); a block is named in lower case".into(),
            ),
            Self::Bytes { .. } => Some(
                "two hexadecimal digits make a byte, as in 03 0F 85 (a spreadsheet changes cells that are not text)".into(),
            ),
            _ => None,
        }
    }
}

/// The module that a cell names, by the slug of its text.
pub(super) fn module(text: &str) -> Result<ModuleName, CellFault> {
    module_name_of(text).ok_or_else(|| CellFault::Module(text.to_owned()))
}

/// The setting that a cell names, with its module: that of the row, or where the row has none the one in
/// `module.setting`.
pub(super) fn setting(text: &str, row: Option<&ModuleName>) -> Result<(ModuleName, SettingCell), CellFault> {
    match (text.parse::<SettingPath>(), row) {
        (Ok(path), Some(module)) if path.module != *module => {
            Err(CellFault::OtherModule { setting: path, module: module.clone() })
        }
        (Ok(path), _) => Ok((path.module, SettingCell::Name(path.setting))),
        (Err(_), None) => Err(CellFault::SettingWithoutModule(text.to_owned())),
        (Err(_), Some(module)) => {
            let cell = match text.parse() {
                Ok(name) => SettingCell::Name(name),
                Err(_) => SettingCell::Label { text: text.to_owned(), slug: setting_name_of(text) },
            };
            Ok((module.clone(), cell))
        }
    }
}

/// The record that a cell names: four hexadecimal digits in either case, also behind `0x` or `$` (where leading
/// zeros may be absent), or else the name of a block as it is.
pub(super) fn record(text: &str) -> Result<RecordName, CellFault> {
    let digits = text.len() == 4 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
    let name = if digits { RecordName::written(&text.to_ascii_uppercase()) } else { RecordName::written(text) };
    name.map_err(|_| CellFault::Record(text.to_owned()))
}

/// The bytes in a cell: hexadecimal digits in groups of white space, `-` or `:`, each group with or without `0x`;
/// where groups have `0x`, commas may stand between them too. Without `0x` a comma is not taken: `12,50` may be a
/// number.
pub(super) fn bytes(text: &str) -> Result<HexBytes, CellFault> {
    let marked = text.contains("0x") || text.contains("0X");
    let splits = |c: char| c.is_whitespace() || c == '-' || c == ':' || (marked && c == ',');
    let groups: Vec<&str> = text
        .split(splits)
        .map(|group| group.strip_prefix("0x").or_else(|| group.strip_prefix("0X")).unwrap_or(group))
        .collect();
    let bytes: HexBytes =
        groups.join(" ").parse().map_err(|fault| CellFault::Bytes { text: text.to_owned(), fault })?;
    if bytes.is_empty() { Err(CellFault::NoBytes(text.to_owned())) } else { Ok(bytes) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_in_every_spelling() {
        for text in ["0D01", "0d01", "0x0D01", "0X0d01", "$0D01", "0xD01", "$d01"] {
            assert_eq!(record(text), Ok(RecordName::Identifier(0x0D01)), "{text}");
        }
        // In a table four hexadecimal digits are an identifier, also where they would spell a name.
        assert_eq!(record("fade"), Ok(RecordName::Identifier(0xFADE)));
        assert!(matches!(record("comfort_2"), Ok(RecordName::Block(_))));
        for text in ["100", "0D011", "0x", "0x10000", "$", "F19O", "Comfort", "0D 01", "+D01", "0x+1", "é01"] {
            assert_eq!(record(text), Err(CellFault::Record(text.into())));
        }
    }

    #[test]
    fn bytes_in_every_grouping() {
        let expected = HexBytes::from(vec![0x03, 0x0F, 0x85]);
        for text in [
            "03 0F 85",
            "030f85",
            "03-0F-85",
            "03:0f:85",
            "0x03 0x0F 0x85",
            "0x030F85",
            "0x03, 0x0F, 0x85",
            "0x03,0X0F,0x85",
            "03\u{a0}0F 85",
            "030F 85",
        ] {
            assert_eq!(bytes(text), Ok(expected.clone()), "{text}");
        }
        for text in ["03 F", "12,50", "12.5", "3E+10", "0x3", "00 0g", "03;0F"] {
            assert!(matches!(bytes(text), Err(CellFault::Bytes { .. })), "{text}");
        }
        for text in ["-", "0x", "- -"] {
            assert_eq!(bytes(text), Err(CellFault::NoBytes(text.into())));
        }
    }

    #[test]
    fn settings_by_name_label_and_path() {
        let body: ModuleName = "body".parse().unwrap();
        let name = |text: &str| SettingCell::Name(text.parse().unwrap());
        assert_eq!(setting("lock_tone", Some(&body)), Ok((body.clone(), name("lock_tone"))));
        assert_eq!(setting("body.lock_tone", Some(&body)), Ok((body.clone(), name("lock_tone"))));
        assert_eq!(setting("body.lock_tone", None), Ok((body.clone(), name("lock_tone"))));
        let label = SettingCell::Label { text: "Lock tone".into(), slug: Some("lock_tone".parse().unwrap()) };
        assert_eq!(setting("Lock tone", Some(&body)), Ok((body.clone(), label)));
        let label = SettingCell::Label { text: "施錠音".into(), slug: None };
        assert_eq!(setting("施錠音", Some(&body)), Ok((body.clone(), label)));
        assert!(matches!(setting("brakes.x", Some(&body)), Err(CellFault::OtherModule { .. })));
        for text in ["lock_tone", "Body.Lock tone", "No. of flashes"] {
            assert_eq!(setting(text, None), Err(CellFault::SettingWithoutModule(text.into())));
        }
    }
}
