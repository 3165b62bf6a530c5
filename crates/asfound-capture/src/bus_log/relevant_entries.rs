//! Which entries of a journal bear on what logs show.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::entry::{Body, Entry, ModuleCoverage};
use asfound_core::names::{ModuleName, RecordName};

use super::{BusSummary, ModuleIdentification};

/// Picks the entries that bear on what logs show, so that a long journal need not be at hand as a whole: earlier logs, what
/// tells of the records that were heard of, and the first reading, by which it is known that there is one.
#[derive(Debug, Clone)]
pub struct Bearing {
    records: BTreeMap<ModuleName, BTreeSet<RecordName>>,
    was_read: bool,
}

impl Bearing {
    /// Before the first entry.
    pub fn of(heard: &BusSummary, placing: &ModuleIdentification) -> Self {
        let mut records: BTreeMap<ModuleName, BTreeSet<RecordName>> = BTreeMap::new();
        for placed in &placing.placed {
            let heard = heard.modules[placed.heard].timeline.records.keys();
            records.entry(placed.module.clone()).or_default().extend(heard.copied().map(RecordName::Identifier));
        }
        Self { records, was_read: false }
    }

    /// Whether the next entry is one of them.
    pub fn takes(&mut self, entry: &Entry) -> bool {
        let heard = |module: &ModuleName, record: &RecordName| {
            self.records.get(module).is_some_and(|records| records.contains(record))
        };
        let told = |(module, covered): (&ModuleName, &ModuleCoverage)| {
            covered.trouble_codes.is_some() && self.records.contains_key(module)
                || covered.records.iter().chain(&covered.refused).any(|record| heard(module, record))
        };
        let bears = match &entry.body {
            Body::Witness(_) => true,
            Body::Reading(reading) => {
                let is_first = !std::mem::replace(&mut self.was_read, true);
                is_first || reading.covered.iter().any(told)
            }
            _ => false,
        };
        bears
            || entry.body.effects().is_some_and(|effects| {
                effects.records.iter().any(|effect| heard(&effect.module, &effect.record))
                    || effects.stated.iter().any(|effect| self.records.contains_key(&effect.module))
            })
    }
}
