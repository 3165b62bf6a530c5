//! Finding one's way in a definition.

use super::{Definition, Identity, RecordDefinition, SettingDefinition};
use crate::names::{RecordName, SettingName};

impl Definition {
    /// The record of that name.
    pub fn record(&self, name: &RecordName) -> Option<&RecordDefinition> {
        self.records().get(name)
    }

    /// The setting of that name.
    pub fn setting(&self, name: &SettingName) -> Option<&SettingDefinition> {
        self.settings().get(name)
    }

    /// The settings that a record holds, in the record's own order.
    pub fn settings_in(&self, record: &RecordName) -> impl Iterator<Item = &SettingDefinition> {
        let names = self.record(record).map_or(&[][..], RecordDefinition::settings);
        names.iter().filter_map(|name| self.setting(name))
    }
}

impl SettingDefinition {
    /// Its name within the module.
    pub fn name(&self) -> &SettingName {
        &self.path().setting
    }
}

impl Identity {
    /// The identity with everything that `said` gives in place of what was known; what it does not give is kept.
    #[must_use]
    pub fn updated_by(&self, said: &Self) -> Self {
        let newer = |said: &Option<String>, known: &Option<String>| said.clone().or_else(|| known.clone());
        Self {
            part_number: newer(&said.part_number, &self.part_number),
            hardware: newer(&said.hardware, &self.hardware),
            software: newer(&said.software, &self.software),
            serial: newer(&said.serial, &self.serial),
        }
    }

    /// Whether both know some part and give it differently.
    pub fn differs_from(&self, other: &Self) -> bool {
        let differs = |a: &Option<String>, b: &Option<String>| a.is_some() && b.is_some() && a != b;
        differs(&self.part_number, &other.part_number)
            || differs(&self.hardware, &other.hardware)
            || differs(&self.software, &other.software)
            || differs(&self.serial, &other.serial)
    }
}
