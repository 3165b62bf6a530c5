//! What a caller says about a table.

use asfound_core::names::ModuleName;

use super::column::ColumnKey;
use super::encoding::TableEncoding;
use super::mapping::ColumnMapping;
use super::separator::Separator;

/// What is known about a table beforehand. Whatever is not given is taken from the file where the file says it
/// plainly, and asked for otherwise.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TableOptions {
    /// Which column holds what. Without it the headers must be the keys themselves ([`ColumnKey`]).
    pub columns: Option<ColumnMapping>,
    /// What separates the cells. Without it: the most frequent of comma, semicolon and tab in the header line.
    pub separator: Option<Separator>,
    /// The character encoding of a file without byte-order mark. Without it: UTF-8.
    pub encoding: Option<TableEncoding>,
    /// The module that all rows are about, for a table without a module column.
    pub module: Option<ModuleName>,
}

impl TableOptions {
    /// Whether the table needs to say which module a row is about.
    pub(super) fn lacks_module(&self, columns: &ColumnMapping) -> bool {
        self.module.is_none() && columns.place(ColumnKey::Module).is_none()
    }
}
