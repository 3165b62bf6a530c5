//! The settings that a disclosure shows.

use asfound_core::entry::{Entry, Vehicle};

use super::pick::module_of;
use super::{DisclosedEntry, DisclosedFile};
use crate::entry_files::{EntryFile, VehicleFile};

/// A setting as a disclosed module file states it.
///
/// What a file states follows from the bytes beside it; [`Disclosure::check`](super::Disclosure::check) sees that it does.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct DisclosedSetting {
    /// The module.
    pub module: String,
    /// The setting.
    pub setting: String,
    /// Its value.
    pub value: String,
    /// Whether it is known by value alone, without bytes.
    pub by_value_alone: bool,
}

impl DisclosedEntry {
    /// What the entry says, where its `entry.toml` is shown and can be read.
    pub fn entry(&self) -> Option<Entry> {
        let file = EntryFile::parse(self.text_of("entry.toml")?).ok()?;
        file.into_entry(|| self.vehicle()).ok()
    }

    /// The vehicle, where its `vehicle.toml` is shown and can be read.
    pub fn vehicle(&self) -> Option<Vehicle> {
        VehicleFile::parse(self.text_of("vehicle.toml")?).ok().map(VehicleFile::into_vehicle)
    }

    fn text_of(&self, path: &str) -> Option<&str> {
        self.files.iter().find(|file| file.path.as_str() == path).map(|file| file.content.as_str())
    }

    /// The settings in the module files that are shown, by module and name.
    pub fn settings(&self) -> Vec<DisclosedSetting> {
        let mut settings: Vec<_> = self.files.iter().flat_map(of_file).collect();
        settings.sort();
        settings
    }
}

fn of_file(file: &DisclosedFile) -> Vec<DisclosedSetting> {
    let Some((module, table)) =
        module_of(&file.path).and_then(|module| Some((module, toml::from_str::<toml::Table>(&file.content).ok()?)))
    else {
        return Vec::new();
    };
    let section = |key: &str, by_value_alone: bool| {
        let section = table.get(key).and_then(toml::Value::as_table);
        let told = section.into_iter().flatten().filter_map(|(name, value)| Some((name, value.as_str()?)));
        let setting = |(name, value): (&String, &str)| DisclosedSetting {
            module: module.to_owned(),
            setting: name.clone(),
            value: value.to_owned(),
            by_value_alone,
        };
        told.map(setting).collect::<Vec<_>>()
    };
    [section("settings", false), section("settings_by_value_alone", true)].concat()
}
