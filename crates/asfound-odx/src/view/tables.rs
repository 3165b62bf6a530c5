//! Tables in the layer that is looked at, and their rows.

use super::View;
use crate::model::{ObjectPlace, Reference, RowEntry, Table, TableRow, Target};

/// A table by the layer that it stands in and its number there.
pub(crate) type TablePlace = (usize, usize);

/// A row, with the layer that it stands in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PlacedRow<'d> {
    pub(crate) layer: usize,
    pub(crate) row: &'d TableRow,
}

impl<'d> View<'d> {
    pub(crate) fn table(&self, place: TablePlace) -> &'d Table {
        &self.database.layers[place.0].tables[place.1]
    }

    /// A table that something in the layer `from` refers to.
    pub(crate) fn find_table(&self, from: usize, reference: &Reference) -> Option<TablePlace> {
        match &reference.target {
            Target::Id { .. } => match self.database.find(from, reference)? {
                ObjectPlace::Table(layer, at) => Some((layer, at)),
                _ => None,
            },
            Target::ShortName(name) => self.named_table(self.layer, name).or_else(|| self.named_table(from, name)),
        }
    }

    fn named_table(&self, layer: usize, name: &str) -> Option<TablePlace> {
        let own = &self.database.layers[layer];
        if let Some(at) = own.tables.iter().position(|table| &*table.head.short_name == name) {
            return Some((layer, at));
        }
        let parents = self.parents(layer)?;
        parents.iter().find_map(|(parent, number)| {
            let without = &own.parents[*number].without_tables;
            if without.iter().any(|one| &**one == name) { None } else { self.named_table(*parent, name) }
        })
    }

    /// The rows of a table in their order; those that refer to nothing are left out.
    pub(crate) fn rows(&self, place: TablePlace) -> impl Iterator<Item = PlacedRow<'d>> {
        let (layer, table) = (place.0, self.table(place));
        let database = self.database;
        table.entries.iter().filter_map(move |entry| match entry {
            RowEntry::Own(at) => Some(PlacedRow { layer, row: &table.rows[*at] }),
            RowEntry::Elsewhere(reference) => match database.find(layer, reference)? {
                ObjectPlace::Row(layer, table, at) => {
                    Some(PlacedRow { layer, row: &database.layers[layer].tables[table].rows[at] })
                }
                _ => None,
            },
        })
    }

    /// A row that something in the layer `from` refers to, with its table; `table` is where a short name is looked for.
    pub(crate) fn find_row(
        &self,
        from: usize,
        reference: &Reference,
        table: Option<TablePlace>,
    ) -> Option<(TablePlace, PlacedRow<'d>)> {
        match &reference.target {
            Target::Id { .. } => match self.database.find(from, reference)? {
                ObjectPlace::Row(layer, table, at) => {
                    let row = &self.database.layers[layer].tables[table].rows[at];
                    Some(((layer, table), PlacedRow { layer, row }))
                }
                _ => None,
            },
            Target::ShortName(name) => {
                let table = table?;
                let row = self.rows(table).find(|one| one.row.content.head.short_name == *name)?;
                Some((table, row))
            }
        }
    }
}
