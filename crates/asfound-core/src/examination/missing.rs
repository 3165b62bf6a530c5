//! What a reading lacks.

use std::fmt;

use crate::definition::{Definition, DefinitionSet};
use crate::identity::Identity;
use crate::names::{ModuleName, RecordName, SettingName};
use crate::reading::Reading;
use crate::state::State;

/// Something that earlier readings had and this one lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MissingItem {
    /// A whole module.
    Module(ModuleName),
    /// A record.
    Record(ModuleName, RecordName),
    /// A setting known by value alone.
    Setting(ModuleName, SettingName),
}

impl fmt::Display for MissingItem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Module(module) => write!(f, "module {module}"),
            Self::Record(module, record) => write!(f, "{module} record {record}"),
            Self::Setting(module, setting) => write!(f, "{module}.{setting}"),
        }
    }
}

/// What earlier readings had and this one lacks.
pub(super) fn missing(reading: &Reading, state: &State, definitions: &DefinitionSet) -> Vec<MissingItem> {
    let mut items = Vec::new();
    for (name, known) in &state.modules {
        let records: Vec<_> = known.records.iter().filter(|(_, r)| r.read.is_some()).map(|(name, _)| name).collect();
        let stated: Vec<_> = known.stated.iter().filter(|(_, s)| s.read.is_some()).map(|(name, _)| name).collect();
        let Some(said) = reading.modules.get(name) else {
            // A module that was asked and did not answer is accounted for, as a record that was refused is.
            if reading.situation.did_not_answer.contains(name) {
                continue;
            }
            if !records.is_empty() || !stated.is_empty() {
                items.push(MissingItem::Module(name.clone()));
            }
            continue;
        };
        let definition = fitting(definitions, name, &known.identity.updated_by(&said.identity));
        for record in records {
            if !said.records.contains_key(record) && !said.refused.contains(record) {
                items.push(MissingItem::Record(name.clone(), record.clone()));
            }
        }
        for setting in stated {
            let by_record = definition
                .and_then(|definition| definition.setting(setting))
                .is_some_and(|setting| said.records.contains_key(setting.record()));
            if !said.settings.contains_key(setting) && !by_record {
                items.push(MissingItem::Setting(name.clone(), setting.clone()));
            }
        }
    }
    items
}

fn fitting<'d>(definitions: &'d DefinitionSet, module: &ModuleName, identity: &Identity) -> Option<&'d Definition> {
    definitions.fitting(module, identity).ok().flatten()
}
