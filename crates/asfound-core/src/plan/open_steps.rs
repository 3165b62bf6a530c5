//! Which open steps a plan is about: nothing is planned on bytes that nobody knows.

use std::collections::BTreeSet;

use super::target::Targets;
use crate::definition::DefinitionSet;
use crate::entry::StepPlace;
use crate::history::{Field, History, OpenStep};
use crate::names::{ModuleName, RecordName, SettingPath};

/// The open steps at the places of what is wished for, also where the journal has it as wanted already.
pub(super) fn open_steps_of(history: &History, definitions: &DefinitionSet, targets: &Targets<'_>) -> Vec<OpenStep> {
    if history.open_steps().open().len() == 0 {
        return Vec::new();
    }
    let mut places: BTreeSet<StepPlace> = BTreeSet::new();
    places.extend(targets.records.keys().map(|(module, record)| StepPlace::Record(module.clone(), record.clone())));
    for field in targets.fields() {
        match field {
            Field::Undeclared { module, record, .. } => {
                places.insert(StepPlace::Record(module.clone(), record.clone()));
            }
            Field::Setting(path) => {
                let record = record_of(history, definitions, path);
                places.extend(record.map(|record| StepPlace::Record(path.module.clone(), record)));
                places.insert(StepPlace::Setting(path.clone()));
            }
        }
    }
    open_steps_about(history, definitions, places)
}

/// The open steps at the places of what is written at these places. Who sets a setting by name writes the record that it lies in,
/// and who writes a record writes every setting in it.
pub fn open_steps_about(
    history: &History,
    definitions: &DefinitionSet,
    places: impl IntoIterator<Item = StepPlace>,
) -> Vec<OpenStep> {
    let places: BTreeSet<StepPlace> = places.into_iter().collect();
    let record = |place: &StepPlace| -> Option<(ModuleName, RecordName)> {
        match place {
            StepPlace::Record(module, record) => Some((module.clone(), record.clone())),
            StepPlace::Setting(path) => Some((path.module.clone(), record_of(history, definitions, path)?)),
        }
    };
    let records: BTreeSet<_> = places.iter().filter_map(record).collect();
    let about = |doubt: &&OpenStep| {
        places.contains(&doubt.place) || record(&doubt.place).is_some_and(|record| records.contains(&record))
    };
    history.open_steps().open().filter(about).cloned().collect()
}

/// The record that a setting lies in, by the definition that fits its module now.
fn record_of(history: &History, definitions: &DefinitionSet, path: &SettingPath) -> Option<RecordName> {
    let defined = definitions.setting(path, &history.state().identity(&path.module)).ok().flatten();
    defined.map(|setting| setting.record().clone())
}
