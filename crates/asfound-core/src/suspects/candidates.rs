//! Everything that was altered in the window of a code.

use std::collections::{BTreeMap, BTreeSet};

use super::Window;
use crate::entry::{Body, Entry};
use crate::history::{Field, History, Origin};
use crate::names::EntryNumber;

/// Who altered something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SuspectKind {
    /// Recorded work.
    Work,
    /// Nobody recorded it: a reading shows it.
    Unexplained,
}

/// An entry that may have to do with a code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Candidate {
    pub(super) entry: EntryNumber,
    pub(super) kind: SuspectKind,
    pub(super) fields: BTreeSet<Field>,
    /// Modules that are another unit or have other software, which nobody recorded.
    pub(super) renewed: Vec<crate::names::ModuleName>,
}

/// The fields that an entry altered; what only became known is left out.
pub(super) fn fields_altered(history: &History, entry: EntryNumber) -> impl Iterator<Item = &Field> {
    history.transitions_of(entry).filter(|(_, step)| step.origin != Origin::FirstKnown).map(|(field, _)| field)
}

/// The candidates, by entry.
pub(super) fn candidates(entries: &[&Entry], history: &History, window: &Window) -> Vec<Candidate> {
    let happened: BTreeMap<EntryNumber, _> = entries.iter().map(|entry| (entry.number, entry.happened)).collect();
    let after = window.without.and_then(|without| happened.get(&without));
    let until = happened.get(&window.first);
    let filed_within =
        |entry: &Entry| window.without.is_none_or(|without| entry.number > without) && entry.number <= window.first;
    // Filed after the code was seen, about something that happened before.
    let told_late = |entry: &Entry| {
        entry.number > window.first
            && until.is_some_and(|until| entry.happened <= *until)
            && after.is_none_or(|after| entry.happened > *after)
    };
    // A difference that a later reading shows, where the field was last read before the code was seen.
    let found_late = |field: &Field, reading: EntryNumber| {
        let before = history.readings_of(field).filter(|earlier| *earlier < reading).last();
        reading > window.first && before.is_none_or(|before| before < window.first)
    };
    let mut found = Vec::new();
    for entry in entries {
        let number = entry.number;
        let candidate = match &entry.body {
            Body::Change(_) | Body::PutBack(..) if filed_within(entry) || told_late(entry) => Candidate {
                entry: number,
                kind: SuspectKind::Work,
                fields: fields_altered(history, number).cloned().collect(),
                renewed: Vec::new(),
            },
            Body::Reading(reading) => {
                let unit = reading.effects.identities.iter().filter(|effect| effect.found.differs_from(&effect.left));
                let renewed = unit.filter(|_| filed_within(entry)).map(|effect| effect.module.clone()).collect();
                let counts = |field: &&Field| filed_within(entry) || found_late(field, number);
                let fields = fields_altered(history, number).filter(counts).cloned().collect();
                Candidate { entry: number, kind: SuspectKind::Unexplained, fields, renewed }
            }
            _ => continue,
        };
        if !candidate.fields.is_empty() || !candidate.renewed.is_empty() {
            found.push(candidate);
        }
    }
    found
}
