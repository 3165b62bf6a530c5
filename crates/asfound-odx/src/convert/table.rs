//! Keys of tables: which row a coded key chooses.

use std::rc::Rc;

use super::constant;
use super::leaf::Content;
use crate::view::{PlacedRow, RowsByKey, TablePlace, View};

/// The rows of a table whose keys begin at a byte, by their coded keys.
pub(crate) fn rows_by_key<'d>(view: &View<'d>, table: TablePlace) -> Rc<RowsByKey<'d>> {
    view.keyed_rows(table, || {
        let mut keyed = RowsByKey::default();
        let Some(key) = &view.table(table).key else { return keyed };
        for placed in view.rows(table) {
            let content = constant::physical(view, table.0, key, &placed.row.key, 0);
            let bytes = match content {
                Some(Content::Constant { bytes, .. }) => Some(bytes),
                _ => None,
            };
            keyed.add(bytes, placed);
        }
        keyed
    })
}

/// A key of a table as it stands in a message.
#[derive(Debug, Clone)]
pub(crate) struct MessageKey<'d> {
    pub(crate) id: Option<&'d str>,
    pub(crate) name: &'d str,
    pub(crate) table: Option<TablePlace>,
    /// The row that it chooses, where that is known.
    pub(crate) row: Option<PlacedRow<'d>>,
    pub(crate) byte: usize,
    pub(crate) bit: u8,
    pub(crate) bits: Option<usize>,
}
