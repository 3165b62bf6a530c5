//! What a correction of an entry's moment makes of what is known.

use std::collections::BTreeSet;

use crate::entry::{Body, Effects, Entry, RecordEffect, StatedEffect};
use crate::names::{ModuleName, RecordName, SettingName};
use crate::state::State;

type Records = BTreeSet<(ModuleName, RecordName)>;
type Settings = BTreeSet<(ModuleName, SettingName)>;

/// The effects by which what is known of whatever `entry` tells of becomes what it is in the order of the moments.
pub fn moment_corrected(entry: &Entry, known: &State, by_time: &State) -> Effects {
    let (records, settings) = told_by(entry);
    let mut effects = Effects::default();
    for (module, record) in records {
        let found = known.record(&module, &record).map(|known| known.bytes.clone());
        let Some(left) = by_time.record(&module, &record).map(|known| known.bytes.clone()) else { continue };
        if found.as_ref() != Some(&left) {
            effects.records.push(RecordEffect { module, record, found, left });
        }
    }
    for (module, setting) in settings {
        let value = |state: &State| Some(state.module(&module)?.stated.get(&setting)?.value.clone());
        let (found, left) = (value(known), value(by_time));
        if found != left {
            effects.stated.push(StatedEffect { module, setting, found, left });
        }
    }
    effects
}

/// The records and the settings by value of which an entry says something.
fn told_by(entry: &Entry) -> (Records, Settings) {
    let (mut records, mut settings) = (Records::new(), Settings::new());
    let mut all: Vec<&Effects> = entry.body.effects().into_iter().collect();
    all.extend(entry.body.work().map(|work| &work.late));
    for effects in all {
        records.extend(effects.records.iter().map(|effect| (effect.module.clone(), effect.record.clone())));
        settings.extend(effects.stated.iter().map(|effect| (effect.module.clone(), effect.setting.clone())));
    }
    if let Body::Reading(reading) = &entry.body {
        for (module, covered) in &reading.covered {
            records.extend(covered.records.iter().map(|record| (module.clone(), record.clone())));
            settings.extend(covered.settings.iter().map(|setting| (module.clone(), setting.clone())));
        }
    }
    (records, settings)
}
