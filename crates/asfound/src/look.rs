//! Looking things up in a vehicle's history for several commands.

use asfound_core::difference::{Content, Side};
use asfound_core::names::SettingPath;

use crate::failure::Failure;
use crate::setup::Known;
use crate::wanted::fitting;

/// What a setting holds now, where anything is known of it.
///
/// # Errors
/// When two definitions fit its module.
pub fn content_now(known: &Known, path: &SettingPath) -> Result<Option<Content>, Failure> {
    let definition = fitting(&known.history, &known.definitions, &path.module)?;
    let Some(module) = known.state().module(&path.module) else { return Ok(None) };
    Ok(Side { module, definition }.content(&path.setting))
}
