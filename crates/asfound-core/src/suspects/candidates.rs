//! Everything that was altered in the window of a code.

use time::OffsetDateTime;

use super::Window;
use crate::entry::Body;
use crate::history::{Field, History, Origin};
use crate::names::{EntryNumber, ModuleName};
use crate::trial::{Done, Trials};

/// Who altered something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SuspectKind {
    /// Recorded work.
    Work,
    /// Nobody recorded it: a reading shows it.
    Unexplained,
}

/// The fields that an entry altered; what only became known is left out.
pub(super) fn fields_altered(history: &History, entry: EntryNumber) -> impl Iterator<Item = &Field> {
    history.transitions_of(entry).filter(|(_, step)| step.origin != Origin::FirstKnown).map(|(field, _)| field)
}

/// The fields for which an entry is a suspect: all that work altered, and of a later reading those that were last read before
/// the code was seen.
pub(super) fn fields_in_question<'h>(
    history: &'h History,
    window: &Window,
    kind: SuspectKind,
    entry: EntryNumber,
) -> impl Iterator<Item = &'h Field> {
    let (all, first) = (kind == SuspectKind::Work || window.holds(entry), window.first);
    let found_late = move |field: &Field| {
        let before = history.readings_of(field).take_while(|earlier| *earlier < entry).last();
        entry > first && before.is_none_or(|before| before < first)
    };
    fields_altered(history, entry).filter(move |field| all || found_late(field))
}

/// An entry that may have to do with a code, with what it altered.
pub(super) struct Candidate<'h> {
    pub(super) entry: Done,
    pub(super) kind: SuspectKind,
    pub(super) fields: Vec<&'h Field>,
    /// Modules that are another unit or have other software, which nobody recorded.
    pub(super) renewed: Box<[ModuleName]>,
}

/// The candidates: work first, then readings. `span` is when the window began, where it did, and when it ended.
pub(super) fn candidates<'h>(
    trials: &'h Trials,
    history: &'h History,
    window: &'h Window,
    span: (Option<OffsetDateTime>, OffsetDateTime),
) -> impl Iterator<Item = Candidate<'h>> {
    let candidate = |entry: Done, kind: SuspectKind, renewed: Box<[ModuleName]>| {
        let mut fields: Vec<&Field> = fields_in_question(history, window, kind, entry.number).collect();
        fields.dedup();
        Candidate { entry, kind, fields, renewed }
    };
    // Filed after the code was seen, about something that happened before.
    let told_late = move |work: &Done| {
        work.number > window.first && work.happened <= span.1 && span.0.is_none_or(|after| work.happened > after)
    };
    let work = trials.work().iter().filter(move |work| window.holds(work.number) || told_late(work));
    let work = work.map(move |work| candidate(*work, SuspectKind::Work, Box::default()));
    let readings = trials.scans().readings.into_iter().filter_map(move |entry| {
        let Body::Reading(reading) = &entry.body else { return None };
        let unit = reading.effects.identities.iter().filter(|effect| effect.found.differs_from(&effect.left));
        let renewed = unit.filter(|_| window.holds(entry.number)).map(|effect| effect.module.clone()).collect();
        Some(candidate(entry.into(), SuspectKind::Unexplained, renewed))
    });
    work.chain(readings).filter(|candidate| !candidate.fields.is_empty() || !candidate.renewed.is_empty())
}
