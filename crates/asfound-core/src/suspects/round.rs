//! What rounds have shown: a put-back, a drive, and a scan of the module that had the code.

use std::collections::BTreeSet;

use super::narrowing::Parts;
use super::part::{Part, Place};
use super::window::has;
use super::{Narrowing, Suspicion};
use crate::history::History;
use crate::names::EntryNumber;
use crate::trial::{Done, Trials, driven_since};
use crate::trouble_code::{CodeStatus, ReportedCode, TroubleCode};

/// What a scan after work says of a code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
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
    pub outcome: Outcome,
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
fn outcome(codes: &[ReportedCode], code: &TroubleCode, clean_before: bool) -> Outcome {
    let Some(reported) = codes.iter().find(|reported| reported.code == *code) else { return Outcome::StayedAway };
    if clean_before {
        return Outcome::CameBack;
    }
    let undecided = |why: &str| Outcome::Undecided(why.to_owned());
    match reported.status {
        None => undecided("the module may remember the code from before: clear it, drive, and scan again"),
        Some(CodeStatus(bits)) if bits & FAILED_THIS_CYCLE != 0 => Outcome::CameBack,
        Some(CodeStatus(bits)) if bits & NOT_COMPLETED != 0 => {
            undecided("the test behind the code has not run since: drive longer, and scan again")
        }
        Some(CodeStatus(bits)) if bits & FAILED != 0 => Outcome::CameBack,
        Some(_) => Outcome::StayedAway,
    }
}

/// Takes in every scan after the code was first seen.
pub(super) fn take_in(
    trials: &Trials,
    history: &History,
    suspicion: &Suspicion,
    parts: &[Part],
    start: Narrowing,
) -> (Narrowing, Vec<Round>) {
    let scans = trials.scans();
    let window = &suspicion.window;
    let of_module = scans.of_module(&window.module);
    let (mut narrowing, mut rounds) = (start, Vec::new());
    for (reading, codes) in of_module.iter().filter(|(reading, _)| reading.number > window.first) {
        let since = |work: &&Done| work.number > window.first && work.number < reading.number;
        let work = trials.work().iter().rfind(since).copied();
        let first = || of_module.iter().find(|(scan, _)| scan.number == window.first);
        let Some(start) = work.or_else(|| first().map(|(scan, _)| Done::from(*scan))) else { continue };
        let mut outcome = if driven_since(start, reading, scans.readings.iter().copied()) {
            let between =
                of_module.iter().filter(|(other, _)| other.number > start.number && other.number < reading.number);
            outcome(codes, &suspicion.code, between.into_iter().any(|(_, codes)| !has(codes, &suspicion.code)))
        } else {
            Outcome::Undecided("the vehicle was not driven in between".to_owned())
        };
        let (parts_in, unclear) = inside(parts, history, reading.number);
        if let (Some(entry), false) = (unclear, matches!(outcome, Outcome::Undecided(_))) {
            outcome = Outcome::Undecided(format!("what entry {entry} altered was neither as left nor as found"));
        }
        match outcome {
            Outcome::CameBack => narrowing = narrowing.after(parts_in, true),
            Outcome::StayedAway => narrowing = narrowing.after(parts_in, false),
            Outcome::Undecided(_) => {}
        }
        if work.is_some() || outcome == Outcome::StayedAway {
            let out = parts.iter().enumerate().filter(|(at, _)| parts_in >> at & 1 == 0);
            let out: BTreeSet<EntryNumber> = out.flat_map(|(_, part)| part.entries.iter().copied()).collect();
            rounds.push(Round { work: start.number, reading: reading.number, out, outcome });
        }
    }
    (narrowing, rounds)
}

/// The parts that are in after an entry, and an entry of one for which that cannot be said.
pub(super) fn inside(parts: &[Part], history: &History, entry: EntryNumber) -> (Parts, Option<EntryNumber>) {
    let (mut parts_in, mut unclear): (Parts, _) = (0, None);
    for (at, part) in parts.iter().enumerate() {
        match (part.place(history, entry), part.not_tried.is_some()) {
            (Place::In, _) => parts_in |= 1 << at,
            (Place::Out, false) => {}
            // What is not experimented with counts as in; where it is not, the round says nothing.
            (Place::Out | Place::Neither, _) => {
                parts_in |= 1 << at;
                unclear = unclear.or(part.entries.first().copied());
            }
        }
    }
    (parts_in, unclear)
}
