//! Which alterations of a field still stand, where some were put back since.

use std::collections::BTreeSet;

use crate::entry::PutBackOf;
use crate::history::{History, Origin, Timeline, Transition};
use crate::names::EntryNumber;

/// The transitions of a field without those that a put-back took back and without that put-back: they have come to
/// nothing and stand in nobody's way. Where the put-back was put back itself, they stand again; so they do where it
/// is one of `wanted`, the entries that are to be taken back now.
pub(super) fn still_standing<'t>(
    history: &History,
    timeline: &'t Timeline,
    wanted: &BTreeSet<EntryNumber>,
) -> Vec<&'t Transition> {
    let steps: Vec<Step<'t>> = timeline.transitions().iter().map(|step| Step::of(history, step)).collect();
    let mut undoing: Vec<bool> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        undoing.push(step.took_back(&steps[..at], &standing(&steps[..at], &undoing)));
    }
    for (step, undoing) in steps.iter().zip(&mut undoing) {
        *undoing &= !wanted.contains(&step.transition.entry);
    }
    let standing = standing(&steps, &undoing);
    steps.iter().zip(standing).filter(|(_, stands)| *stands).map(|(step, _)| step.transition).collect()
}

/// Which of the steps stand: neither those that an undoing step undid, unless it was undone itself, nor that step.
fn standing(steps: &[Step<'_>], undoing: &[bool]) -> Vec<bool> {
    let mut undone = vec![false; steps.len()];
    for at in (0..steps.len()).rev() {
        let later = at + 1..steps.len();
        undone[at] = later.into_iter().any(|by| undoing[by] && !undone[by] && steps[by].takes(&steps[at]));
    }
    undone.iter().zip(undoing).map(|(undone, undoing)| !undone && !undoing).collect()
}

/// A transition, with what it took back where it belongs to a put-back.
struct Step<'t> {
    transition: &'t Transition,
    of: Option<PutBackOf>,
}

impl<'t> Step<'t> {
    fn of(history: &History, transition: &'t Transition) -> Self {
        let of = history.put_back_of(transition.entry).filter(|_| transition.origin == Origin::Work);
        Self { transition, of: of.cloned() }
    }

    /// Whether the put-back that the step belongs to was to take back what another step did.
    fn takes(&self, other: &Step<'_>) -> bool {
        match &self.of {
            Some(PutBackOf::Entries(list)) => list.contains(&other.transition.entry),
            Some(PutBackOf::ReturnTo(to)) => other.transition.entry > *to,
            None => false,
        }
    }

    /// Whether the step took back earlier ones to the content before them, and nothing else with them: not so where
    /// another value was chosen instead.
    fn took_back(&self, earlier: &[Step<'_>], standing: &[bool]) -> bool {
        let back = |step: &Step<'_>| step.transition.found.as_ref().is_some_and(|it| it.same(&self.transition.left));
        let first = (0..earlier.len()).find(|at| self.takes(&earlier[*at]) && back(&earlier[*at]));
        first.is_some_and(|first| (first..earlier.len()).filter(|at| standing[*at]).all(|at| self.takes(&earlier[at])))
    }
}
