//! What a module's settings read when another definition explains the same bytes.

use std::collections::BTreeSet;

use super::{Side, settings_of};
use crate::definition::Definition;
use crate::names::SettingName;
use crate::state::ModuleState;

/// What a setting reads: its label, where a definition gives it one, and its value as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reads {
    /// What the definition calls it.
    pub label: Option<String>,
    /// The value, as it is shown.
    pub value: String,
}

/// A setting that reads otherwise when another definition explains its module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Redefined {
    /// The setting.
    pub setting: SettingName,
    /// What it read; nothing where it had no name.
    pub before: Option<Reads>,
    /// What it would read; nothing where it would have no name any more.
    pub after: Option<Reads>,
}

impl Redefined {
    /// Whether something that was read until now reads otherwise: a name for what had none takes nothing away.
    pub fn takes_away(&self) -> bool {
        self.before.is_some()
    }
}

/// The settings of a module that read otherwise, or have another label, when `after` explains it in place of `before`.
pub fn redefined(module: &ModuleState, before: Option<&Definition>, after: Option<&Definition>) -> Vec<Redefined> {
    let sides = [before, after].map(|definition| Side { module, definition });
    let names: BTreeSet<SettingName> = sides.into_iter().flat_map(settings_of).collect();
    let reads = |side: Side<'_>, name: &SettingName| {
        let label = side.defined(name).map(|setting| setting.label().to_owned());
        Some(Reads { label, value: side.content(name)?.to_string() })
    };
    let all = names.into_iter().map(|setting| {
        let [before, after] = sides.map(|side| reads(side, &setting));
        Redefined { setting, before, after }
    });
    all.filter(|one| one.before != one.after).collect()
}
