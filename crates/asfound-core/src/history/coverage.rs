//! Which readings gave which field.

use std::collections::{BTreeMap, BTreeSet};

use super::Field;
use crate::definition::Definition;
use crate::entry::ModuleCoverage;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};

/// For every record and every setting, the readings that gave it.
#[derive(Debug, Clone, Default)]
pub(super) struct Coverage {
    records: BTreeMap<(ModuleName, RecordName), BTreeSet<EntryNumber>>,
    settings: BTreeMap<SettingPath, BTreeSet<EntryNumber>>,
}

impl Coverage {
    /// Takes in what a reading gave of one module. A record that it gave tells of the settings that `definition`, which
    /// fits the module at that moment, finds in it: at another time they may lie elsewhere.
    pub(super) fn push(
        &mut self,
        reading: EntryNumber,
        module: &ModuleName,
        covered: &ModuleCoverage,
        definition: Option<&Definition>,
    ) {
        for record in &covered.records {
            self.records.entry((module.clone(), record.clone())).or_default().insert(reading);
        }
        for path in settings_told(module, covered, definition) {
            self.settings.entry(path).or_default().insert(reading);
        }
    }

    /// The readings that gave a field, in order.
    pub(super) fn readings_of(&self, field: &Field) -> Option<&BTreeSet<EntryNumber>> {
        match field {
            Field::Setting(path) => self.settings.get(path),
            Field::Undeclared { module, record, .. } => self.records.get(&(module.clone(), record.clone())),
        }
    }
}

/// The settings of one module that a reading tells, by bytes or by value.
pub(super) fn settings_told(
    module: &ModuleName,
    covered: &ModuleCoverage,
    definition: Option<&Definition>,
) -> BTreeSet<SettingPath> {
    let by_bytes = definition
        .into_iter()
        .flat_map(|definition| covered.records.iter().flat_map(move |record| definition.settings_in(record)))
        .map(|setting| setting.name().clone());
    let names = by_bytes.chain(covered.settings.iter().cloned());
    names.map(|setting| SettingPath { module: module.clone(), setting }).collect()
}
