//! What entries tell of their own moments, kept so that they can be gone through in the order in which they happened.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use time::OffsetDateTime;

use super::HistoryError;
use super::chronology::{Chronology, TimeOrder};
use super::corrections::Corrections;
use super::log_writes::LogWrites;
use super::recomputed::{EntryContents, retell};
use super::tracer::Tracer;
use crate::definition::DefinitionSet;
use crate::entry::{Body, Entry, ModuleCoverage, ReadingBody, WorkBody};
use crate::names::{EntryNumber, ModuleName};

/// What a reading covered, without trouble codes: most readings cover the same, which is kept once then.
pub(super) type Coverage = Arc<BTreeMap<ModuleName, ModuleCoverage>>;

/// An entry as it is kept: of a reading what it covered stands beside.
#[derive(Debug, Clone)]
pub(super) struct StoredEntry {
    pub(super) entry: Entry,
    pub(super) covered: Coverage,
}

/// The entries that tell what was in the vehicle, in the order in which they were filed.
#[derive(Debug, Clone, Default)]
pub(super) struct Moments {
    entries: Vec<StoredEntry>,
    any_late: bool,
}

impl Moments {
    /// Keeps what the next entry tells.
    pub(super) fn push(&mut self, entry: &Entry) {
        let bare = |body: Body| Entry { body, ..entry.clone() };
        let kept = match &entry.body {
            Body::Reading(reading) => {
                self.any_late |= !reading.late.is_empty();
                let covered = self.covered(&reading.covered);
                let nothing = ReadingBody { covered: BTreeMap::new(), ..reading.clone() };
                StoredEntry { entry: bare(Body::Reading(nothing)), covered }
            }
            Body::Change(work) | Body::PutBack(_, work) => {
                self.any_late |= !work.late.is_empty();
                let (effects, late) = (work.effects.clone(), work.late.clone());
                let work = WorkBody { effects, late, ..WorkBody::default() };
                StoredEntry { entry: bare(Body::Change(work)), covered: Coverage::default() }
            }
            Body::Enrolled(_) | Body::Correction(_) => {
                StoredEntry { entry: entry.clone(), covered: Coverage::default() }
            }
            _ => return,
        };
        self.entries.push(kept);
    }

    fn covered(&self, covered: &BTreeMap<ModuleName, ModuleCoverage>) -> Coverage {
        let without_codes = |covered: &ModuleCoverage| ModuleCoverage { trouble_codes: None, ..covered.clone() };
        let bare: BTreeMap<ModuleName, ModuleCoverage> =
            covered.iter().map(|(module, covered)| (module.clone(), without_codes(covered))).collect();
        let earlier = self.entries.iter().rev().find(|kept| matches!(kept.entry.body, Body::Reading(_)));
        earlier
            .map(|kept| &kept.covered)
            .filter(|earlier| ***earlier == bare)
            .cloned()
            .unwrap_or_else(|| Arc::new(bare))
    }

    /// Whether any entry tells of something of which something later was known when it was filed.
    pub(super) fn any_late(&self) -> bool {
        self.any_late
    }

    /// Goes through the entries in the order in which they happened, those that certainly happened by `until` where that is
    /// given; the tracer tells them by their places in time.
    pub(super) fn trace<'d>(
        self,
        chronology: &Chronology,
        corrections: &Corrections,
        wire: &LogWrites,
        definitions: &'d DefinitionSet,
        until: Option<OffsetDateTime>,
    ) -> Result<(Tracer<'d>, TimeOrder), HistoryError> {
        let mut contents: BTreeMap<EntryNumber, EntryContents> = EntryContents::of(self.entries, definitions)?;
        let by_then = |entry: &EntryNumber| {
            let span = chronology.of(*entry).map(|moment| moment.span());
            until.is_none_or(|until| span.is_some_and(|span| span.last() <= until) || *entry == EntryNumber::FIRST)
        };
        let entries = chronology.in_order().into_iter().filter(by_then);
        let order = TimeOrder::of(entries.collect());
        let place = |entry| order.place_of(entry);
        let tracer = Tracer::by_time(definitions, chronology.by_place(&order));
        let mut tracer = tracer.knowing(corrections.numbered(&place), wire.numbered(&place));
        for (entry, place) in order.entries() {
            // Notes and the like say nothing of the vehicle.
            let Some(contents) = contents.remove(&entry) else { continue };
            tracer.skip_to(place);
            let (entry, told) = retell(contents, place, tracer.state(), definitions, &order);
            tracer.step_by_time(&entry, told)?;
        }
        Ok((tracer, order))
    }
}

/// What an entry tells in time: the same without what is late in it.
pub(super) fn in_time(entry: &Entry) -> Cow<'_, Entry> {
    let Body::Reading(reading) = &entry.body else { return Cow::Borrowed(entry) };
    if reading.late.is_empty() {
        return Cow::Borrowed(entry);
    }
    let mut reading = reading.clone();
    for (module, late) in std::mem::take(&mut reading.late) {
        let Some(covered) = reading.covered.get_mut(&module) else { continue };
        covered.records.retain(|record| !late.records.contains_key(record));
        covered.settings.retain(|setting| !late.settings.contains_key(setting));
        covered.refused.retain(|record| !late.refused.contains(record));
    }
    Cow::Owned(Entry { body: Body::Reading(reading), ..entry.clone() })
}
