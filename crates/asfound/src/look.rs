//! Looking things up in a vehicle's history for several commands.

use asfound_core::difference::{Content, Side};
use asfound_core::names::SettingPath;

use crate::setup::Known;

/// What a setting holds now, where anything is known of it.
pub fn content_now(known: &Known, path: &SettingPath) -> Option<Content> {
    let module = known.state().module(&path.module)?;
    let definition = known.definitions.explaining(&path.module, &module.identity);
    Side { module, definition }.content(&path.setting)
}
