//! Keys of tables: which row a coded key chooses.

use std::collections::HashMap;

use super::constant;
use super::leaf::Content;
use crate::view::{PlacedRow, TablePlace, View};

/// The rows of a table by their coded keys.
#[derive(Debug, Default)]
pub(crate) struct RowsByKey<'d> {
    /// Several rows of one key are none.
    rows: HashMap<Vec<u8>, Option<PlacedRow<'d>>>,
    /// Keys in the order of their rows.
    pub(crate) keys: Vec<Vec<u8>>,
    /// Short names of rows without a key of their own.
    pub(crate) unclear: Vec<&'d str>,
}

impl<'d> RowsByKey<'d> {
    /// The rows of a table whose keys begin at a byte.
    pub(crate) fn new(view: &View<'d>, table: TablePlace) -> Self {
        let mut keyed = Self::default();
        let Some(key) = &view.table(table).key else { return keyed };
        for placed in view.rows(table) {
            let name = &*placed.row.content.head.short_name;
            let Some(Content::Constant { bytes, .. }) = constant::physical(view, table.0, key, &placed.row.key, 0)
            else {
                keyed.unclear.push(name);
                continue;
            };
            match keyed.rows.get_mut(&bytes) {
                None => {
                    keyed.keys.push(bytes.clone());
                    keyed.rows.insert(bytes, Some(placed));
                }
                Some(there) => {
                    keyed.unclear.push(name);
                    keyed.unclear.extend(there.take().map(|other| &*other.row.content.head.short_name));
                }
            }
        }
        keyed.keys.retain(|key| keyed.rows[key].is_some());
        keyed
    }

    /// The row that a coded key chooses.
    pub(crate) fn row(&self, key: &[u8]) -> Option<PlacedRow<'d>> {
        self.rows.get(key).copied().flatten()
    }
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
