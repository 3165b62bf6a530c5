//! The rows of a table, found by their coded keys.

use std::collections::HashMap;

use super::PlacedRow;

/// The rows of a table by their coded keys.
#[derive(Debug, Default)]
pub(crate) struct RowsByKey<'d> {
    /// Several rows of one key are none.
    rows: HashMap<Vec<u8>, Option<PlacedRow<'d>>>,
    /// Keys in the order of their rows.
    keys: Vec<Vec<u8>>,
    /// Short names of rows without a key of their own.
    pub(crate) unclear: Vec<&'d str>,
}

impl<'d> RowsByKey<'d> {
    /// Adds a row; nothing for a key that cannot be coded.
    pub(crate) fn add(&mut self, key: Option<Vec<u8>>, placed: PlacedRow<'d>) {
        let name = &*placed.row.content.head.short_name;
        let Some(key) = key else { return self.unclear.push(name) };
        match self.rows.get_mut(&key) {
            None => {
                self.keys.push(key.clone());
                self.rows.insert(key, Some(placed));
            }
            Some(there) => {
                self.unclear.push(name);
                self.unclear.extend(there.take().map(|other| &*other.row.content.head.short_name));
            }
        }
    }

    /// The keys that one row has each, in the order of the rows.
    pub(crate) fn keys(&self) -> impl Iterator<Item = &Vec<u8>> {
        self.keys.iter().filter(|key| self.rows[*key].is_some())
    }

    /// The row that a coded key chooses.
    pub(crate) fn row(&self, key: &[u8]) -> Option<PlacedRow<'d>> {
        self.rows.get(key).copied().flatten()
    }
}
