//! `modules/<module>.toml`: what is known of a module after an entry.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::{Definition, Identity};
use asfound_core::difference::{Side, settings_of};
use asfound_core::names::{DefinitionId, RecordName, SettingName};
use asfound_core::reading::Address;
use asfound_core::value::HexBytes;
use serde::Serialize;

#[derive(Serialize)]
struct ModuleFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<Address>,
    #[serde(skip_serializing_if = "Option::is_none")]
    definition: Option<DefinitionId>,
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    refused: BTreeSet<RecordName>,
    identity: Identity,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    records: BTreeMap<RecordName, HexBytes>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    settings: BTreeMap<SettingName, String>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    settings_by_value_alone: BTreeMap<SettingName, String>,
}

/// The file as text.
///
/// Records are the truth; `settings` are what the definition named in the file makes of them, one a line, so
/// that a comparison of two entries with ordinary git commands shows what changed by name.
pub fn module_text(side: Side<'_>) -> String {
    let module = side.module;
    let explained = settings_of(side).into_iter().filter(|name| !module.stated.contains_key(name));
    let file = ModuleFile {
        address: module.address,
        definition: side.definition.map(|definition: &Definition| definition.id().clone()),
        refused: module.refused.clone(),
        identity: module.identity.clone(),
        records: module.records.iter().map(|(name, known)| (name.clone(), known.bytes.clone())).collect(),
        settings: explained.filter_map(|name| Some((name.clone(), side.content(&name)?.to_string()))).collect(),
        settings_by_value_alone: module.stated.iter().map(|(name, s)| (name.clone(), s.value.clone())).collect(),
    };
    toml::to_string_pretty(&file).expect("a module is made of texts, which TOML can hold")
}
