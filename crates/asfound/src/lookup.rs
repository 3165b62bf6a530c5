//! Looking things up in a vehicle's history for several commands.

use asfound_core::difference::{Content, ModuleSnapshot};
use asfound_core::names::SettingPath;

use crate::setup::TracedJournal;

/// What a setting holds now, where anything is known of it.
pub fn content_now(known: &TracedJournal, path: &SettingPath) -> Option<Content> {
    let module = known.state().module(&path.module)?;
    let definition = known.definitions.explaining(&path.module, &module.identity);
    ModuleSnapshot { module, definition }.content(&path.setting)
}
