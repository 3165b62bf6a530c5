//! Looking things up in a vehicle's history for several commands.

use asfound_core::definition::{DefinitionSet, SettingDefinition};
use asfound_core::difference::{Content, ModuleSnapshot};
use asfound_core::history::History;
use asfound_core::names::SettingPath;
use asfound_core::plan::NamedSetting;

use crate::failure::Failure;
use crate::setup::TracedJournal;

/// What a setting holds now, where anything is known of it.
pub fn content_now(known: &TracedJournal, path: &SettingPath) -> Option<Content> {
    let module = known.state().module(&path.module)?;
    let definition = known.definitions.explaining(&path.module, &module.identity);
    ModuleSnapshot { module, definition }.content(&path.setting)
}

/// What the definition that fits a module has for a setting; nothing where the setting is known by value alone.
///
/// # Errors
/// When several definitions fit the module, or the definition has no such setting and nothing is known of it.
pub fn setting_of<'d>(
    history: &History,
    definitions: &'d DefinitionSet,
    path: &SettingPath,
) -> Result<Option<&'d SettingDefinition>, Failure> {
    defined(looked_up(history, definitions, path)?, path)
}

/// What stands behind the name of a setting.
///
/// # Errors
/// When several definitions fit its module.
pub fn looked_up<'d>(
    history: &History,
    definitions: &'d DefinitionSet,
    path: &SettingPath,
) -> Result<NamedSetting<'d>, Failure> {
    NamedSetting::look_up(history.state(), definitions, path)
        .map_err(|several| Failure::usage(format!("{path} cannot be named: {several}")).hint(several.hint()))
}

/// The definition of a setting that was looked up; nothing where it is known by value alone.
///
/// # Errors
/// When nobody knows it.
pub fn defined<'d>(named: NamedSetting<'d>, path: &SettingPath) -> Result<Option<&'d SettingDefinition>, Failure> {
    let (definition, near) = match named {
        NamedSetting::Defined(setting) => return Ok(Some(setting)),
        NamedSetting::ByValue => return Ok(None),
        NamedSetting::Unknown { definition, near } => (definition, near),
    };
    let failure = Failure::usage(format!("{definition} has no setting `{}`", path.setting));
    Err(match near {
        Some(near) => failure.hint(format!("did you mean `{}.{near}`?", path.module)),
        None => failure.hint(format!("`asfound explain {}.` lists what it has", path.module)),
    })
}
