//! Records that an older journal knows by another name.

use std::borrow::Cow;

use crate::names::RecordName;
use crate::reading::Reading;
use crate::state::{ModuleState, State};

/// The reading with its records named as the journal names them: a data identifier that was typed in small letters was once
/// filed as a block (`f190`), and goes on under that name.
pub(super) fn as_known<'r>(reading: &'r Reading, state: &State) -> Cow<'r, Reading> {
    let renamed = |known: &ModuleState, record: &RecordName| {
        let number = record.identifier()?;
        let block = format!("{number:04x}").parse().ok().filter(|block| matches!(block, RecordName::Block(_)))?;
        let knows = |name| known.records.contains_key(name) || known.refused.contains(name);
        (knows(&block) && !knows(record)).then_some(block)
    };
    let mut reading = Cow::Borrowed(reading);
    for (name, known) in &state.modules {
        let Some(said) = reading.modules.get(name) else { continue };
        let older = |record: &RecordName| Some((record.clone(), renamed(known, record)?));
        let names: Vec<_> = said.records.keys().chain(&said.refused).filter_map(older).collect();
        for (record, block) in names {
            let Some(said) = reading.to_mut().modules.get_mut(name) else { continue };
            if let Some(bytes) = said.records.remove(&record) {
                said.records.insert(block.clone(), bytes);
            }
            if said.refused.remove(&record) {
                said.refused.insert(block);
            }
        }
    }
    reading
}
