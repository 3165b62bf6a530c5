//! Tables (`TABLE`): a key chooses one of their rows.

use super::{Head, Parameter, Reference};

/// One row (`TABLE-ROW`).
#[derive(Debug, Clone)]
pub(crate) struct TableRow {
    /// The value of the key that chooses it, as it is shown.
    pub(crate) key: Box<str>,
    pub(crate) classes: Vec<Reference>,
    /// What the row has, as a parameter of the row's names.
    pub(crate) content: Parameter,
}

/// What stands in a table's list of rows.
#[derive(Debug, Clone)]
pub(crate) enum RowEntry {
    /// A row of the table, by its place in the table's list.
    Own(usize),
    /// A row of another table (`TABLE-ROW-REF`).
    Elsewhere(Reference),
}

/// Rows, and the data object of the key that chooses one of them.
#[derive(Debug, Clone)]
pub(crate) struct Table {
    pub(crate) head: Head,
    /// `KEY-DOP-REF`.
    pub(crate) key: Option<Reference>,
    pub(crate) rows: Vec<TableRow>,
    pub(crate) entries: Vec<RowEntry>,
}
