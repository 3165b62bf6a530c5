//! What rounds have shown: a put-back, a drive, and a scan of the module that had the code.

use std::collections::BTreeSet;

use super::narrowing::Parts;
use super::part::SuspectGroup;
use super::part_state::PartState;
use super::window::has;
use super::{Narrowing, Suspicion};
use crate::entry::{Body, Entry};
use crate::history::{History, Origin};
use crate::names::EntryNumber;
use crate::trial::{TrialBuilder, WorkTime, driven_since};
use crate::trouble_code::{CodeStatus, ReportedCode, TroubleCode};

/// What a scan after work says of a code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RoundOutcome {
    /// It came back.
    CameBack,
    /// It stayed away.
    StayedAway,
    /// Nobody can tell, and why.
    Undecided(String),
}

/// One round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Round {
    /// The last work before the scan.
    pub work: EntryNumber,
    /// The reading that scanned the module.
    pub reading: EntryNumber,
    /// The entries that were out.
    pub out: BTreeSet<EntryNumber>,
    /// What became of the code.
    pub outcome: RoundOutcome,
}

/// testFailed.
const FAILED: u8 = 0x01;
/// testFailedThisOperationCycle.
const FAILED_THIS_CYCLE: u8 = 0x02;
/// testNotCompletedThisOperationCycle.
const NOT_COMPLETED: u8 = 0x40;

/// What a scan after a drive says. `clean_before`: whether a scan since the work did not have the code.
///
/// A code that is not there stayed away. A module may remember a code from before the work, so that one that is there has
/// come back only if its status byte says that its test failed in this operation cycle, or if it was gone in between.
fn outcome(codes: &[ReportedCode], code: &TroubleCode, clean_before: bool) -> RoundOutcome {
    let Some(reported) = codes.iter().find(|reported| reported.code == *code) else { return RoundOutcome::StayedAway };
    if clean_before {
        return RoundOutcome::CameBack;
    }
    let undecided = |why: &str| RoundOutcome::Undecided(why.to_owned());
    match reported.status {
        None => undecided("the module may remember the code from before: clear it, drive, and scan again"),
        Some(CodeStatus(bits)) if bits & FAILED_THIS_CYCLE != 0 => RoundOutcome::CameBack,
        Some(CodeStatus(bits)) if bits & NOT_COMPLETED != 0 => {
            undecided("the test behind the code has not run since: drive longer, and scan again")
        }
        Some(CodeStatus(bits)) if bits & FAILED != 0 => RoundOutcome::CameBack,
        Some(_) => RoundOutcome::StayedAway,
    }
}

/// The scans since the code was first seen: what the parts are, and how the code stood.
pub(super) struct ScanHistory<'a> {
    trials: &'a TrialBuilder,
    history: &'a History,
    suspicion: &'a Suspicion,
    parts: &'a [SuspectGroup],
    /// The last entry, or the one before which the question is looked at.
    last: EntryNumber,
}

impl<'a> ScanHistory<'a> {
    pub(super) fn new(
        trials: &'a TrialBuilder,
        history: &'a History,
        suspicion: &'a Suspicion,
        parts: &'a [SuspectGroup],
        last: EntryNumber,
    ) -> Self {
        Self { trials, history, suspicion, parts, last }
    }

    /// Takes in every scan up to the last entry.
    pub(super) fn observe(&self, mut narrowing: Narrowing) -> (Narrowing, Vec<Round>) {
        let scans = self.trials.scans();
        let window = &self.suspicion.window;
        let of_module = scans.of_module(&window.module);
        if self.context(window.first).positive {
            narrowing.came_with(self.inside(window.first).0);
        }
        let (mut drives, mut rounds) = (Vec::new(), Vec::new());
        let place = |entry: EntryNumber| self.history.place_of(entry);
        let later = |at: &usize| {
            let number = of_module[*at].0.number;
            window.is_over(self.history, number) && place(number) <= place(self.last)
        };
        for at in (1..of_module.len()).filter(later) {
            let ((reading, codes), (before, codes_before)) = (of_module[at], of_module[at - 1]);
            let since = |work: &&WorkTime| {
                window.is_over(self.history, work.number) && place(work.number) < place(reading.number)
            };
            let work = self.trials.work().iter().filter(since).max_by_key(|work| place(work.number)).copied();
            let after_scan = work.filter(|work| place(work.number) > place(before.number));
            let clean_before = after_scan.is_none() && !has(codes_before, &self.suspicion.code);
            let start = after_scan.unwrap_or(WorkTime::from(before));
            let mut outcome = if let Some(work) = self.not_ordered(reading.number) {
                RoundOutcome::Undecided(format!("whether it was taken before entry {work} or after it is not known"))
            } else if drove(start, reading, &scans.readings) {
                outcome(codes, &self.suspicion.code, clean_before)
            } else {
                RoundOutcome::Undecided("the vehicle was not driven in between".to_owned())
            };
            let (parts_in, unclear) = self.inside(reading.number);
            let context = self.context(reading.number);
            if !matches!(outcome, RoundOutcome::Undecided(_)) {
                let says = if outcome == RoundOutcome::CameBack { context.positive } else { context.negative };
                if let Some(entry) = unclear.or(context.other.filter(|_| !says)) {
                    let why = format!("nobody can tell whether what entry {entry} altered was as left or as found");
                    let why =
                        if unclear.is_some() { why } else { format!("what entry {entry} altered was otherwise then") };
                    outcome = RoundOutcome::Undecided(why);
                }
            }
            match outcome {
                // How often it shows is told only by drives on which nothing else was otherwise.
                RoundOutcome::CameBack if !context.negative => narrowing.came_with(parts_in),
                RoundOutcome::CameBack => drives.push((parts_in, true)),
                RoundOutcome::StayedAway => drives.push((parts_in, false)),
                RoundOutcome::Undecided(_) => {}
            }
            if work.is_some() || !matches!(outcome, RoundOutcome::Undecided(_)) {
                let out = self.parts.iter().enumerate().filter(|(at, _)| parts_in >> at & 1 == 0);
                let out: BTreeSet<EntryNumber> = out.flat_map(|(_, part)| part.entries.iter().copied()).collect();
                let work = work.map_or(window.first, |work| work.number);
                rounds.push(Round { work, reading: reading.number, out, outcome });
            }
        }
        narrowing.observe(drives);
        (narrowing, rounds)
    }

    /// Work on what is narrowed down of which nobody can tell whether it was done before a scan.
    fn not_ordered(&self, scan: EntryNumber) -> Option<EntryNumber> {
        let fields = self.parts.iter().flat_map(|part| &part.fields);
        let steps = fields.filter_map(|field| self.history.timeline(field)).flat_map(|line| line.transitions());
        let work = steps.filter(|step| step.origin == Origin::Work).map(|step| step.entry);
        let ordered = |work: EntryNumber| self.history.is_before(work, scan) || self.history.is_before(scan, work);
        work.filter(|work| !ordered(*work)).min()
    }

    /// The parts that are in after an entry, and an entry of one that can be taken out and of which that cannot be said. What
    /// is not certain counts as in.
    pub(super) fn inside(&self, entry: EntryNumber) -> (Parts, Option<EntryNumber>) {
        let (mut parts_in, mut unclear): (Parts, _) = (0, None);
        for (at, part) in self.parts.iter().enumerate() {
            match part.place(self.history, entry) {
                PartState::Out => {}
                PartState::In => parts_in |= 1 << at,
                PartState::Between | PartState::Elsewhere => {
                    parts_in |= 1 << at;
                    unclear = unclear.or(part.entries.first().copied().filter(|_| part.not_tried.is_none()));
                }
            }
        }
        (parts_in, unclear)
    }

    /// What a scan says of the vehicle as it is now, seeing that parts which nobody takes out may have been otherwise then.
    ///
    /// More of them in does not make the code stay away, and fewer do not make it come.
    fn context(&self, entry: EntryNumber) -> ScanContext {
        let mut context = ScanContext { positive: true, negative: true, other: None };
        for part in self.parts.iter().filter(|part| part.not_tried.is_some()) {
            let place = |entry| part.place(self.history, entry);
            let (positive, negative) = match (place(entry), place(self.last)) {
                (PartState::In, PartState::In) | (PartState::Out, PartState::Out) => (true, true),
                (PartState::Out, PartState::In) => (true, false),
                (PartState::In, PartState::Out) => (false, true),
                _ => Some(part.same_at(self.history, entry, self.last)).map_or((true, true), |same| (same, same)),
            };
            context.positive &= positive;
            context.negative &= negative;
            if !(positive && negative) {
                context.other = context.other.or(part.entries.first().copied());
            }
        }
        context
    }
}

/// What a scan says of the vehicle as it is now.
struct ScanContext {
    /// Whether a code that came says something.
    positive: bool,
    /// Whether one that stayed away does.
    negative: bool,
    /// An entry that was otherwise then.
    other: Option<EntryNumber>,
}

/// Whether the vehicle was driven between work, or a scan, and a reading. Where kilometres say that it stood, another day
/// does not count.
fn drove(start: WorkTime, reading: &Entry, readings: &[&Entry]) -> bool {
    let kilometres = |entry: &Entry| match &entry.body {
        Body::Reading(body) => body.odometer_km,
        _ => None,
    };
    let earlier = |other: &&&Entry| other.number == start.number || other.moment().is_before(&start.moment);
    let before = readings.iter().filter(earlier).rfind(|earlier| kilometres(earlier).is_some());
    let stood = match (before.and_then(|earlier| kilometres(earlier)), kilometres(reading)) {
        (Some(before), Some(now)) => now <= before,
        _ => false,
    };
    !stood && driven_since(start, reading, readings.iter().copied())
}
