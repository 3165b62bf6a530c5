//! What `modules/<module>.toml` says of a module, without what a definition makes of it.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::identity::Identity;
use asfound_core::names::{RecordName, SettingName};
use asfound_core::reading::Address;
use asfound_core::state::ModuleState;
use asfound_core::value::HexBytes;
use serde::Deserialize;

/// What the file of a module says that follows from the entries alone.
#[derive(Debug, Deserialize)]
pub struct StoredModule {
    address: Option<Address>,
    #[serde(default)]
    refused: BTreeSet<RecordName>,
    identity: Identity,
    #[serde(default)]
    records: BTreeMap<RecordName, HexBytes>,
    #[serde(default)]
    settings_by_value_alone: BTreeMap<SettingName, String>,
}

impl StoredModule {
    /// Reads the file.
    ///
    /// # Errors
    /// When it is not of its form.
    pub fn parse(text: &str) -> Result<Self, toml::de::Error> {
        toml::from_str(text)
    }

    /// Whether it is the file of such a module.
    pub fn is_of(&self, module: &ModuleState) -> bool {
        self.address == module.address
            && self.refused == module.refused
            && self.identity == module.identity
            && self.records.iter().eq(module.records.iter().map(|(name, known)| (name, &known.bytes)))
            && self.settings_by_value_alone.iter().eq(module.stated.iter().map(|(name, known)| (name, &known.value)))
    }
}
