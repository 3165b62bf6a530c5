//! From suspects to the next round.

use std::collections::BTreeSet;

use super::Suspicion;
use super::narrowing::{Cause, Check, Narrowing, NarrowingFinding, Parts};
use super::part::{NotTried, SuspectGroup, parts};
use super::part_state::latest;
use super::round::{Round, ScanHistory};
use super::round_planner::RoundPlanner;
use crate::definition::DefinitionSet;
use crate::history::History;
use crate::names::EntryNumber;
use crate::plan::{Plan, PutBackWish};
use crate::trial::TrialBuilder;

/// Up to how many parts the expected number of drives is worked out; it takes too long for more.
const WORKED_OUT: usize = 8;

/// How many sets are tried when the best ones have no safe plan.
const TRIED: usize = 32;

/// What is to be put back for a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The suspects that are out during the round.
    pub out: BTreeSet<EntryNumber>,
    /// The wish that brings it about: entries to take back, among them earlier rounds, settings that stay, and values where
    /// taking entries back does not lead to what the round needs.
    pub wish: PutBackWish,
    /// The plan for it, safe at every step; nothing where the vehicle is as it should be, and has only to be driven.
    pub plan: Option<Plan>,
}

/// What is to be seen before an entry may be named for certain.
#[derive(Debug, Clone, PartialEq)]
pub struct RequiredObservation {
    /// The suspects that are in, of those that are experimented with.
    pub suspects_in: BTreeSet<EntryNumber>,
    /// The suspects that are out.
    pub out: BTreeSet<EntryNumber>,
    /// What is to be seen, and how often it was.
    pub check: Check,
}

/// How far a code is narrowed down.
#[derive(Debug, Clone)]
pub struct NarrowingState {
    /// What is told apart, heaviest first.
    pub parts: Vec<SuspectGroup>,
    /// The rounds so far.
    pub rounds: Vec<Round>,
    /// What they have shown; its numbers are those of the parts.
    pub finding: NarrowingFinding,
    /// Whether the finding is certain, but for a chance of 1 in 100: what is named was out alone and in alone.
    pub confirmed: bool,
    /// What is to be seen before what is probable is certain; nothing while nothing is probable.
    pub watched: Vec<RequiredObservation>,
    /// How often a second cause must show at least so that it would have been noticed: on this part of all drives.
    pub noticed_from: Option<f64>,
    /// What is still held possible, the most likely first: its suspects, and how likely it is.
    pub possible: Vec<(Cause, f64)>,
    /// The fewest drives that can be enough on average, if the code shows on every drive.
    pub least_drives: f64,
    /// The next round, until the finding is confirmed.
    pub next: Option<Proposal>,
    /// The other half instead, which tells as much; or why it has no safe plan.
    pub other_half: Option<Result<Proposal, String>>,
    /// Why there is no next round though something is open.
    pub stopped: Option<String>,
    narrowing: Narrowing,
    now: Parts,
}

/// How many of the possible causes are handed out.
const POSSIBLE: usize = 8;

/// How likely one of them must be.
const WORTH_SAYING: f64 = 0.02;

impl NarrowingState {
    /// How many drives are to be expected until a cause is certain, if the code shows on every drive; nothing where there are
    /// too many parts to work it out.
    pub fn expected_drives(&self) -> Option<f64> {
        (self.parts.len() <= WORKED_OUT).then(|| self.narrowing.expected_drives(self.now))
    }

    /// The entries of some parts.
    pub fn entries(&self, parts: Parts) -> BTreeSet<EntryNumber> {
        entries_of(&self.parts, parts)
    }
}

/// Narrows the suspects of a code down by the rounds that the journal has, and proposes the next.
pub fn narrow(
    trials: &TrialBuilder,
    history: &History,
    definitions: &DefinitionSet,
    suspicion: &Suspicion,
) -> NarrowingState {
    let last = latest(history);
    let planner = RoundPlanner::new(history, definitions, last);
    let mut parts = parts(suspicion, history);
    for part in &mut parts {
        part.not_tried = part.not_tried.take().or_else(|| planner.not_tried(part));
    }
    let (narrowing, rounds) = weighed(trials, history, suspicion, &parts, last);
    let (now, _) = ScanHistory::new(trials, history, suspicion, &parts, last).inside(last);
    let finding = narrowing.finding();
    let acquittal = match finding {
        NarrowingFinding::Probable(cause) => Some(narrowing.acquittal(cause)),
        NarrowingFinding::Open => None,
    };
    let watched = acquittal.iter().flat_map(|acquittal| acquittal.checks.iter());
    let free = free(&parts);
    let watched = watched.map(|check| RequiredObservation {
        suspects_in: entries_of(&parts, check.parts_in),
        out: entries_of(&parts, free & !check.parts_in),
        check: *check,
    });
    let possible = narrowing.causes().filter(|(_, likelihood)| *likelihood >= WORTH_SAYING).take(POSSIBLE);
    let mut narrowed = NarrowingState {
        watched: watched.collect(),
        noticed_from: acquittal.map(|acquittal| acquittal.noticed_from),
        possible: possible.collect(),
        least_drives: narrowing.least_drives(),
        confirmed: narrowing.is_confirmed(),
        finding,
        rounds,
        next: None,
        other_half: None,
        stopped: None,
        parts,
        narrowing: narrowing.clone(),
        now,
    };
    if free == 0 || narrowed.confirmed {
        return narrowed;
    }
    if !narrowing.was_seen() {
        narrowed.stopped = otherwise_now(&narrowed.parts, history, suspicion, last);
        return narrowed;
    }
    let mut refused = None;
    for set in narrowing.proposals(now).into_iter().take(TRIED) {
        match planner.proposal(&narrowed.parts, set) {
            Ok(proposal) => {
                narrowed.next = Some(proposal);
                if finding == NarrowingFinding::Open {
                    let other = other_half(&narrowing, &narrowed.parts, set);
                    narrowed.other_half = (other != now).then(|| planner.proposal(&narrowed.parts, other));
                }
                return narrowed;
            }
            Err(why) => refused = refused.or(Some(why)),
        }
    }
    narrowed.stopped = refused;
    narrowed
}

/// What the scans up to an entry say of the parts.
fn weighed(
    trials: &TrialBuilder,
    history: &History,
    suspicion: &Suspicion,
    parts: &[SuspectGroup],
    last: EntryNumber,
) -> (Narrowing, Vec<Round>) {
    let fixed = mask(parts.iter().enumerate().filter(|(_, part)| part.not_tried.is_some()));
    let weights: Vec<f64> = parts.iter().map(|part| f64::from(part.weight)).collect();
    ScanHistory::new(trials, history, suspicion, parts, last).observe(Narrowing::new(&weights, fixed))
}

/// Whether a question was answered when the code was last found gone, and came again though what was named was out. Then
/// it came by something else, and that is another question.
pub(super) fn answered_otherwise(
    trials: &TrialBuilder,
    history: &History,
    definitions: &DefinitionSet,
    suspicion: &Suspicion,
    (gone, came): (EntryNumber, EntryNumber),
) -> bool {
    let planner = RoundPlanner::new(history, definitions, gone);
    let mut parts = parts(suspicion, history);
    for part in &mut parts {
        // What cannot be moved as things are now may have been moved then.
        let restricted = || planner.not_tried(part).filter(|why| matches!(why, NotTried::Restricted(_)));
        let not_tried = part.not_tried.clone().or_else(restricted);
        part.not_tried = not_tried;
    }
    let (narrowing, _) = weighed(trials, history, suspicion, &parts, gone);
    let (parts_in, _) = ScanHistory::new(trials, history, suspicion, &parts, came).inside(came);
    narrowing.confirmed().is_some_and(|cause| !cause.acts_with(parts_in))
}

fn mask<'p>(parts: impl Iterator<Item = (usize, &'p SuspectGroup)>) -> Parts {
    parts.fold(0, |mask, (at, _)| mask | 1 << at)
}

fn free(parts: &[SuspectGroup]) -> Parts {
    mask(parts.iter().enumerate().filter(|(_, part)| part.not_tried.is_none()))
}

fn entries_of(parts: &[SuspectGroup], set: Parts) -> BTreeSet<EntryNumber> {
    let named = parts.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1);
    named.flat_map(|(_, part)| part.entries.iter().copied()).collect()
}

/// Why nothing that was seen says anything of the vehicle as it is now.
fn otherwise_now(
    parts: &[SuspectGroup],
    history: &History,
    suspicion: &Suspicion,
    last: EntryNumber,
) -> Option<String> {
    let first = suspicion.window.first;
    let otherwise =
        parts.iter().filter(|part| matches!(part.not_tried, Some(NotTried::Restricted(_) | NotTried::Impossible(_))));
    let entry = otherwise
        .filter(|part| part.place(history, first) != part.place(history, last))
        .find_map(|part| part.entries.first())?;
    Some(format!("the code has not come since what entry {entry} altered is otherwise: drive, and scan again"))
}

/// The set with what is still open turned round; the rest stays.
fn other_half(narrowing: &Narrowing, parts: &[SuspectGroup], set: Parts) -> Parts {
    let open =
        parts.iter().enumerate().filter(|(at, part)| part.not_tried.is_none() && narrowing.likelihood(*at) > 0.0);
    set ^ mask(open)
}
