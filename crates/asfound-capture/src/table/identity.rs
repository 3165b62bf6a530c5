//! One identity for each module, gathered from all lines that say a part of it.

use std::collections::HashMap;

use asfound_core::names::ModuleName;
use asfound_core::sameness::compare_identity_texts;

use super::column::ColumnKey;
use super::reading::{RowContent, TableIdentity, TableRow};
use super::rows::RowFault;

/// The parts of identities seen so far.
#[derive(Default)]
pub(super) struct Identities {
    /// The row of each module's identity.
    rows: HashMap<ModuleName, usize>,
    /// The line that first said a part, and what it said.
    parts: HashMap<(ModuleName, ColumnKey), (usize, String)>,
}

impl Identities {
    /// Takes in one part that a line says; a table repeats it on every row of a module as a matter of course.
    pub(super) fn take(
        &mut self,
        rows: &mut Vec<TableRow>,
        line: usize,
        module: &ModuleName,
        key: ColumnKey,
        text: &str,
    ) -> Result<(), RowFault> {
        if let Some((first_line, first)) = self.parts.get(&(module.clone(), key)) {
            if compare_identity_texts(first, text).is_same() {
                return Ok(());
            }
            return Err(RowFault::Twice {
                module: module.clone(),
                name: key.to_string(),
                line: *first_line,
                first: first.clone(),
                second: text.to_owned(),
            });
        }
        self.parts.insert((module.clone(), key), (line, text.to_owned()));
        let index = *self.rows.entry(module.clone()).or_insert_with(|| {
            let what = RowContent::Identity(TableIdentity::default());
            rows.push(TableRow { line, module: module.clone(), what });
            rows.len() - 1
        });
        if let Some(TableRow { what: RowContent::Identity(identity), .. }) = rows.get_mut(index)
            && let Some(part) = identity.part_mut(key)
        {
            *part = Some(text.to_owned());
        }
        Ok(())
    }
}
