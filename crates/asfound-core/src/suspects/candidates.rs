//! Everything that was altered in the window of a code.

use time::OffsetDateTime;

use super::Window;
use crate::entry::Body;
use crate::history::{Field, History, Origin};
use crate::names::{EntryNumber, ModuleName};
use crate::trial::{TrialBuilder, WorkTime};

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

/// The fields for which an entry is a suspect: all that was altered in the window; of later entries what is new and came before
/// the code was last seen to come; and of later readings what was last read before the code was seen.
pub(super) fn fields_in_question<'h>(
    history: &'h History,
    window: &Window,
    kind: SuspectKind,
    entry: EntryNumber,
) -> impl Iterator<Item = &'h Field> {
    let steps = history.transitions_of(entry).filter(|(_, step)| step.origin != Origin::FirstKnown);
    let asked = steps.filter(move |(field, step)| {
        window.holds(history, entry)
            || (kind == SuspectKind::Unexplained && found_late(history, window, field, entry))
            || ((kind == SuspectKind::Work || window.is_open_at(history, entry)) && window.is_new(history, field, step))
    });
    asked.map(|(field, _)| field)
}

/// Whether a reading after the code was seen shows of a field what may have come before.
fn found_late(history: &History, window: &Window, field: &Field, entry: EntryNumber) -> bool {
    let place = history.place_of(entry);
    let before =
        history.readings_of(field).map(|reading| history.place_of(reading)).take_while(|it| *it < place).last();
    window.is_over(history, entry) && before.is_none_or(|before| before < history.place_of(window.first))
}

/// Whether an entry is about something that happened after the code was first seen.
pub(super) fn came_later(
    history: &History,
    window: &Window,
    suspect: (WorkTime, SuspectKind),
    seen: OffsetDateTime,
) -> bool {
    let (WorkTime { number, happened, .. }, kind) = suspect;
    let late = || fields_altered(history, number).any(|field| found_late(history, window, field, number));
    window.is_over(history, number) && happened > seen && (kind == SuspectKind::Work || !late())
}

/// An entry that may have to do with a code, with what it altered.
pub(super) struct Candidate<'h> {
    pub(super) entry: WorkTime,
    pub(super) kind: SuspectKind,
    pub(super) fields: Vec<&'h Field>,
    /// Modules that are another unit or have other software, which nobody recorded.
    pub(super) renewed: Box<[ModuleName]>,
    /// Whether it is about something that happened after the code was first seen.
    pub(super) later: bool,
}

/// The candidates: work first, then readings. `span` is when the window began, where it did, and when it ended.
pub(super) fn candidates<'h>(
    trials: &'h TrialBuilder,
    history: &'h History,
    window: &'h Window,
    span: (Option<OffsetDateTime>, OffsetDateTime),
) -> impl Iterator<Item = Candidate<'h>> {
    let candidate = move |entry: WorkTime, kind: SuspectKind, renewed: Box<[ModuleName]>| {
        let mut fields: Vec<&Field> = fields_in_question(history, window, kind, entry.number).collect();
        fields.dedup();
        let later = came_later(history, window, (entry, kind), span.1);
        Candidate { entry, kind, fields, renewed, later }
    };
    // It may have happened before the code was seen, or after that.
    let told_late = move |work: &WorkTime| {
        let possible = work.happened <= span.1 && span.0.is_none_or(|after| work.happened > after);
        window.is_over(history, work.number) && (possible || !history.is_before(window.first, work.number))
    };
    let asked = move |work: &&WorkTime| {
        window.holds(history, work.number) || told_late(work) || window.is_open_at(history, work.number)
    };
    let work = trials.work().iter().filter(asked);
    let work = work.map(move |work| candidate(*work, SuspectKind::Work, Box::default()));
    let readings = trials.scans().readings.into_iter().filter_map(move |entry| {
        let Body::Reading(reading) = &entry.body else { return None };
        let unit = reading.effects.identities.iter().filter(|effect| effect.found.differs_from(&effect.left));
        let renewed =
            unit.filter(|_| window.holds(history, entry.number)).map(|effect| effect.module.clone()).collect();
        Some(candidate(entry.into(), SuspectKind::Unexplained, renewed))
    });
    work.chain(readings).filter(|candidate| !candidate.fields.is_empty() || !candidate.renewed.is_empty())
}
