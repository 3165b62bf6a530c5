//! The settings that a disclosure shows.

use super::pick::module_of;
use super::{DisclosedEntry, DisclosedFile};

/// A setting as a disclosed module file states it.
///
/// What a file states follows from the bytes beside it; that it does is for whoever has the definition to see.
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
