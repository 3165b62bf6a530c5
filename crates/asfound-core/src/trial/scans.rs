//! Which module was scanned for trouble codes when, and what it had.

use std::collections::BTreeMap;

use super::WorkTime;
use crate::entry::{Body, Entry};
use crate::names::ModuleName;
use crate::trouble_code::ReportedCode;

/// The readings of a journal in the order in which they were taken, and their scans for trouble codes.
pub(crate) struct Scans<'e> {
    pub(crate) readings: Vec<&'e Entry>,
}

impl<'e> Scans<'e> {
    pub(crate) fn of(entries: impl IntoIterator<Item = &'e Entry>) -> Self {
        let mut readings: Vec<&Entry> =
            entries.into_iter().filter(|entry| matches!(entry.body, Body::Reading(_))).collect();
        readings.sort_by_key(|reading| reading.moment().sort_key());
        Self { readings }
    }

    /// What a reading scanned, by module.
    pub(crate) fn in_reading(reading: &'e Entry) -> BTreeMap<&'e ModuleName, &'e [ReportedCode]> {
        let Body::Reading(body) = &reading.body else { return BTreeMap::new() };
        let scanned = |(module, covered): (&'e ModuleName, &'e crate::entry::ModuleCoverage)| {
            Some((module, covered.trouble_codes.as_deref()?))
        };
        body.covered.iter().filter_map(scanned).collect()
    }

    /// The scans of one module, oldest first.
    pub(crate) fn of_module(&self, module: &ModuleName) -> Vec<(&'e Entry, &'e [ReportedCode])> {
        let scan = |reading: &&'e Entry| Some((*reading, *Self::in_reading(reading).get(module)?));
        self.readings.iter().filter_map(scan).collect()
    }

    /// What each module had when it was last scanned before some work. A reading that may have been taken after it does not
    /// count: it may show what the work brought.
    pub(crate) fn before(&self, work: WorkTime) -> BTreeMap<&'e ModuleName, &'e [ReportedCode]> {
        let earlier = |reading: &&&'e Entry| reading.moment().is_before(&work.moment);
        // Later ones take the place of earlier ones.
        self.readings.iter().filter(earlier).flat_map(|reading| Self::in_reading(reading)).collect()
    }
}
