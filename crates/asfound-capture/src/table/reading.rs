//! What a table said.

use asfound_core::names::{ModuleName, RecordName, SettingName};
use asfound_core::value::HexBytes;

use super::column::ColumnKey;
use super::encoding::TableEncoding;
use super::mapping::ColumnMapping;
use super::separator::Separator;

/// What a table said, row by row, and how it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableReading {
    /// What it said, in the order of its lines. One line gives several rows where several kinds of columns are mapped.
    pub rows: Vec<TableRow>,
    /// How many lines hold something but were left out, because they give no value, bytes, identity or trouble code.
    /// Lines that are blank throughout are not counted.
    pub without_value: usize,
    /// How many settings, records and trouble codes were left out because an earlier line says exactly the same.
    pub repeated: usize,
    /// The columns that were read: those asked for, or those that the headers name themselves.
    pub columns: ColumnMapping,
    /// What separated the cells.
    pub separator: Separator,
    /// The encoding that was read.
    pub encoding: TableEncoding,
}

/// One thing that a table says of one module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableRow {
    /// The line of the file, from 1.
    pub line: usize,
    /// The module that it is about.
    pub module: ModuleName,
    /// What it says.
    pub what: RowContent,
}

/// What one row says of its module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RowContent {
    /// The value of a setting.
    Setting {
        /// The setting, as the table names it.
        setting: SettingCell,
        /// The value as written, without white space around it. Never empty.
        value: String,
    },
    /// The bytes of a record.
    Record {
        /// The record.
        record: RecordName,
        /// Its bytes, at least one.
        bytes: HexBytes,
    },
    /// The identity of the module: once for each module, whichever lines it comes from.
    Identity(TableIdentity),
    /// A trouble code that the module had. Not examined here.
    TroubleCode {
        /// The code as written.
        code: String,
        /// Its status as written, where there is one.
        status: Option<String>,
    },
}

/// How a table names a setting.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum SettingCell {
    /// By its name.
    Name(SettingName),
    /// By other text, such as its label in a definition.
    Label {
        /// The text, without white space around it.
        text: String,
        /// The name that the text gives by [`setting_name_of`](super::setting_name_of), for a setting that no
        /// definition labels so.
        slug: Option<SettingName>,
    },
}

impl SettingCell {
    /// The text of the cell.
    pub fn as_str(&self) -> &str {
        match self {
            Self::Name(name) => name.as_str(),
            Self::Label { text, .. } => text,
        }
    }

    /// The name, given or made of the label.
    pub fn name(&self) -> Option<&SettingName> {
        match self {
            Self::Name(name) => Some(name),
            Self::Label { slug, .. } => slug.as_ref(),
        }
    }
}

/// What a table says of the identity of a module: texts as written, without white space around them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TableIdentity {
    /// The part number.
    pub part_number: Option<String>,
    /// The hardware version.
    pub hardware: Option<String>,
    /// The software version.
    pub software: Option<String>,
    /// The serial number.
    pub serial: Option<String>,
}

impl TableIdentity {
    /// The part of the identity that a column holds; nothing for other columns.
    pub(super) fn part_mut(&mut self, key: ColumnKey) -> Option<&mut Option<String>> {
        match key {
            ColumnKey::PartNumber => Some(&mut self.part_number),
            ColumnKey::Hardware => Some(&mut self.hardware),
            ColumnKey::Software => Some(&mut self.software),
            ColumnKey::Serial => Some(&mut self.serial),
            _ => None,
        }
    }
}
