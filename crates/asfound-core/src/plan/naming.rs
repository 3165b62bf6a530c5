//! What stands behind a setting that somebody names.

use crate::definition::{AmbiguousDefinition, DefinitionSet, SettingDefinition};
use crate::document::nearest_name;
use crate::names::{DefinitionId, SettingName, SettingPath};
use crate::state::State;

/// What stands behind a setting that somebody names.
#[derive(Debug, Clone, Copy)]
pub enum NamedSetting<'d> {
    /// The definition that explains its module describes it.
    Defined(&'d SettingDefinition),
    /// No definition describes it: it is known, altered and put back by value alone.
    ByValue,
    /// The definition that explains its module does not describe it, and nothing is known of it: a slip, unless somebody
    /// says what it was as found.
    Unknown {
        /// The definition.
        definition: &'d DefinitionId,
        /// The name of a setting that comes close, which makes it a slip.
        near: Option<&'d SettingName>,
    },
}

impl<'d> NamedSetting<'d> {
    /// Looks a setting up, given what is known of its vehicle.
    ///
    /// # Errors
    /// When several definitions fit its module, so that nobody can say which bits it has.
    pub fn look_up(
        state: &State,
        definitions: &'d DefinitionSet,
        path: &SettingPath,
    ) -> Result<Self, AmbiguousDefinition> {
        let Some(definition) = definitions.fitting(&path.module, &state.identity(&path.module))? else {
            return Ok(Self::ByValue);
        };
        if let Some(setting) = definition.setting(&path.setting) {
            return Ok(Self::Defined(setting));
        }
        if state.module(&path.module).is_some_and(|module| module.stated.contains_key(&path.setting)) {
            return Ok(Self::ByValue);
        }
        let names = definition.settings().keys();
        let near = nearest_name(path.setting.as_str(), names.clone().map(SettingName::as_str));
        let near = near.and_then(|near| names.into_iter().find(|name| name.as_str() == near));
        Ok(Self::Unknown { definition: definition.id(), near })
    }

    /// The same where somebody says what it was as found: then it need not be known, as long as its name is not a slip.
    #[must_use]
    pub fn told(self) -> Self {
        match self {
            Self::Unknown { near: None, .. } => Self::ByValue,
            other => other,
        }
    }
}
