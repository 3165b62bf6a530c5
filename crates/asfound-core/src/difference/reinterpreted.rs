//! What a module's settings read when another definition explains the same bytes.

use std::collections::BTreeSet;

use super::{ModuleSnapshot, settings_of};
use crate::definition::Definition;
use crate::names::SettingName;
use crate::state::ModuleState;

/// What a setting reads: its label, where a definition gives it one, and its value as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShownSetting {
    /// What the definition calls it.
    pub label: Option<String>,
    /// The value, as it is shown.
    pub value: String,
}

/// A setting that reads otherwise when another definition explains its module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReinterpretedSetting {
    /// The setting.
    pub setting: SettingName,
    /// What it read; nothing where it had no name.
    pub before: Option<ShownSetting>,
    /// What it would read; nothing where it would have no name any more.
    pub after: Option<ShownSetting>,
}

impl ReinterpretedSetting {
    /// Whether something that was read until now reads otherwise: a name for what had none takes nothing away.
    pub fn takes_away(&self) -> bool {
        self.before.is_some()
    }
}

/// The settings of a module that read otherwise, or have another label, when `after` explains it in place of `before`.
pub fn reinterpreted(
    module: &ModuleState,
    before: Option<&Definition>,
    after: Option<&Definition>,
) -> Vec<ReinterpretedSetting> {
    let sides = [before, after].map(|definition| ModuleSnapshot { module, definition });
    let names: BTreeSet<SettingName> = sides.into_iter().flat_map(settings_of).collect();
    let reads = |side: ModuleSnapshot<'_>, name: &SettingName| {
        let label = side.defined(name).map(|setting| setting.label().to_owned());
        Some(ShownSetting { label, value: side.content(name)?.to_string() })
    };
    let all = names.into_iter().map(|setting| {
        let [before, after] = sides.map(|side| reads(side, &setting));
        ReinterpretedSetting { setting, before, after }
    });
    all.filter(|one| one.before != one.after).collect()
}
