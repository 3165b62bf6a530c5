//! The journal beside the logs: what in it is later than a moment in them.

use std::collections::BTreeMap;

use asfound_core::entry::{Body, Entry};
use asfound_core::names::{EntryNumber, ModuleName, RecordName};
use time::{Duration, OffsetDateTime};

use super::clock::Clock;
use super::logged::LoggedWrite;
use super::readings::LaterEntry;

/// Where in the logs the work of an entry is found again, record by record: the last write.
pub(super) type FoundAgain = BTreeMap<(EntryNumber, ModuleName, RecordName), u64>;

/// The journal beside the logs: what in it is later than a moment in them.
pub(super) struct JournalAfter<'a> {
    pub(super) entries: &'a [Entry],
    pub(super) found: FoundAgain,
    /// By how much the journal's times may be too early against the logs'.
    early: Duration,
}

impl<'a> JournalAfter<'a> {
    pub(super) fn new(entries: &'a [Entry], writes: &[LoggedWrite], clock: &Clock) -> Self {
        let mut found = BTreeMap::new();
        for told in writes {
            if let Some(entry) = told.write.entry {
                found.insert((entry, told.write.module.clone(), told.write.record.clone()), told.number);
            }
        }
        let early = clock.journal_later_ms.filter(|later| *later < 0).map_or(0, |later| -later);
        Self { entries, found, early: Duration::milliseconds(early) }
    }
}

fn tells_of(entry: &Entry, module: &ModuleName, record: Option<&RecordName>) -> bool {
    let covered = match &entry.body {
        Body::Reading(reading) => reading.covered.get(module),
        _ => None,
    };
    let Some(record) = record else { return covered.is_some_and(|covered| covered.trouble_codes.is_some()) };
    let effects = entry.body.effects().map_or(&[][..], |effects| &effects.records);
    covered.is_some_and(|covered| covered.records.contains(record) || covered.refused.contains(record))
        || effects.iter().any(|effect| effect.module == *module && effect.record == *record)
}

impl LaterEntry for JournalAfter<'_> {
    fn entry(
        &self,
        module: &ModuleName,
        record: Option<&RecordName>,
        (number, at): (u64, Option<OffsetDateTime>),
    ) -> Option<EntryNumber> {
        let later = self.entries.iter().find(|entry| {
            let place = record.map(|record| (entry.number, module.clone(), record.clone()));
            if let Some(write) = place.and_then(|place| self.found.get(&place)) {
                return *write > number;
            }
            let at = at.map(|at| at.truncate_to_second());
            at.is_some_and(|at| entry.happened + self.early >= at) && tells_of(entry, module, record)
        });
        later.map(|entry| entry.number)
    }
}
