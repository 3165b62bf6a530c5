//! Finding one's way in a definition.

use super::{Definition, RecordDefinition, SettingDefinition};
use crate::identity::Identity;
use crate::names::{RecordName, SettingName};
use crate::sameness::{Sameness, compare_identity_texts};

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
    /// The identity with everything that `said` gives in place of what was known; what it does not give is kept, and so is
    /// what it gives in another writing only: a table that drops leading zeros brings no other software.
    #[must_use]
    pub fn updated_by(&self, said: &Self) -> Self {
        let newer = |said: &Option<String>, known: &Option<String>| {
            let another = said
                .as_ref()
                .filter(|said| known.as_ref().is_none_or(|known| !compare_identity_texts(known, said).is_same()));
            another.or(known.as_ref()).cloned()
        };
        Self {
            part_number: newer(&said.part_number, &self.part_number),
            hardware: newer(&said.hardware, &self.hardware),
            software: newer(&said.software, &self.software),
            serial: newer(&said.serial, &self.serial),
        }
    }

    /// How both stand to each other in the parts that both know.
    pub fn compare(&self, other: &Self) -> Sameness {
        let parts = self.parts_with(other).into_iter().filter_map(|(mine, theirs)| mine.zip(theirs));
        parts.fold(Sameness::Same, |so_far, (mine, theirs)| so_far.and(compare_identity_texts(mine, theirs)))
    }

    /// Whether both know some part and it certainly is another one.
    pub fn differs_from(&self, other: &Self) -> bool {
        self.compare(other).is_different()
    }

    /// Whether both know some part and give it in another text, be it only in another writing. The journal's format rests
    /// on this comparison to the letter; what it means for the module is told by [`Identity::compare`].
    pub fn differs_in_text(&self, other: &Self) -> bool {
        self.parts_with(other).into_iter().any(|(mine, theirs)| mine.zip(theirs).is_some_and(|(a, b)| a != b))
    }

    fn parts_with<'a>(&'a self, other: &'a Self) -> [(Option<&'a str>, Option<&'a str>); 4] {
        [
            (self.part_number.as_deref(), other.part_number.as_deref()),
            (self.hardware.as_deref(), other.hardware.as_deref()),
            (self.software.as_deref(), other.software.as_deref()),
            (self.serial.as_deref(), other.serial.as_deref()),
        ]
    }
}
