//! One side of a difference: a module's content with the definition that explains it.

use std::collections::BTreeSet;

use super::Content;
use crate::definition::{Definition, SettingDefinition};
use crate::names::SettingName;
use crate::state::ModuleState;

/// A module at one moment, with the definition that fits it then.
#[derive(Debug, Clone, Copy)]
pub struct ModuleSnapshot<'a> {
    /// The module.
    pub module: &'a ModuleState,
    /// The definition that fits it, where there is one.
    pub definition: Option<&'a Definition>,
}

impl<'a> ModuleSnapshot<'a> {
    /// What the definition says of a setting.
    pub fn defined(&self, setting: &SettingName) -> Option<&'a SettingDefinition> {
        self.definition.and_then(|definition| definition.setting(setting))
    }

    /// What a setting holds, from bytes where they are known, otherwise as stated.
    pub fn content(&self, setting: &SettingName) -> Option<Content> {
        let defined = self.definition.and_then(|definition| Some((definition, definition.setting(setting)?)));
        if let Some((definition, defined)) = defined
            && let Some(known) = self.module.current_record(defined.record())
            && let Some(content) = Content::decoded(defined, definition.id(), known.bytes.as_slice())
        {
            return Some(content);
        }
        let known = self.module.stated.get(setting)?;
        Some(Content::stated(defined.map(|(_, setting)| setting), &known.value))
    }
}

/// The names of all settings of which something is known on a side, sorted.
pub fn settings_of(side: ModuleSnapshot<'_>) -> BTreeSet<SettingName> {
    let explained = side.definition.into_iter().flat_map(|definition| definition.settings().values());
    let read = explained.filter(|setting| side.module.current_record(setting.record()).is_some());
    let defined = read.map(|setting| setting.name().clone());
    defined.chain(side.module.stated.keys().cloned()).collect()
}
