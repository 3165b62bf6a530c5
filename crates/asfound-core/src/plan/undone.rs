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
    let steps = timeline.transitions();
    let mut undone = UndoneTransitions::of(timeline);
    for (at, step) in steps.iter().enumerate().filter(|(_, step)| step.origin == Origin::Work) {
        if let Some(of) = history.put_back_of(step.entry) {
            let taken = taken(history, timeline, at, of);
            if undone.took_back(at, &taken) {
                undone.undo(at, taken);
            }
        }
    }
    let again: Vec<usize> = (0..steps.len()).filter(|at| wanted.contains(&steps[*at].entry)).collect();
    again.into_iter().for_each(|at| undone.forget(at));
    steps.iter().enumerate().filter(|(at, _)| undone.stands(*at)).map(|(_, step)| step).collect()
}

/// The places of the earlier transitions that a put-back was to take back, in order.
fn taken(history: &History, timeline: &Timeline, at: usize, of: &PutBackOf) -> Vec<usize> {
    let places = match of {
        PutBackOf::Entries(list) => {
            let entries: BTreeSet<EntryNumber> = list.iter().copied().collect();
            entries.into_iter().flat_map(|entry| timeline.places_of(entry)).collect()
        }
        PutBackOf::ReturnTo(to) => {
            let to = history.place_of(*to);
            let first = timeline.transitions().partition_point(|step| history.place_of(step.entry) <= to);
            (first..at).collect::<Vec<_>>()
        }
    };
    places.into_iter().filter(|place| *place < at).collect()
}

/// Which transitions were undone by later ones.
struct UndoneTransitions<'t> {
    steps: &'t [Transition],
    /// For each transition that undoes others, which.
    undoes: Vec<Option<Vec<usize>>>,
    /// How many transitions that are not undone themselves undo each.
    by: Vec<usize>,
}

impl<'t> UndoneTransitions<'t> {
    fn of(timeline: &'t Timeline) -> Self {
        let steps = timeline.transitions();
        Self { steps, undoes: vec![None; steps.len()], by: vec![0; steps.len()] }
    }

    /// Whether a transition is neither undone nor one that undoes.
    fn stands(&self, at: usize) -> bool {
        self.by[at] == 0 && self.undoes[at].is_none()
    }

    /// Whether a transition took back earlier ones to the content before them, and nothing else with them: not so
    /// where another value was chosen instead.
    fn took_back(&self, at: usize, taken: &[usize]) -> bool {
        let left = &self.steps[at].left;
        let back = |place: &&usize| self.steps[**place].found.as_ref().is_some_and(|found| found.same(left));
        let Some(first) = taken.iter().find(back) else { return false };
        (*first..at).all(|place| !self.stands(place) || taken.binary_search(&place).is_ok())
    }

    /// The last transition so far undoes others.
    fn undo(&mut self, at: usize, taken: Vec<usize>) {
        self.turn(&taken, true);
        self.undoes[at] = Some(taken);
    }

    /// A transition is to undo nothing.
    fn forget(&mut self, at: usize) {
        if let Some(taken) = self.undoes[at].take()
            && self.by[at] == 0
        {
            self.turn(&taken, false);
        }
    }

    /// Counts transitions as undone once more or once less; where one that undoes others is undone thereby, or is not any
    /// more, so are these.
    fn turn(&mut self, taken: &[usize], undone: bool) {
        let mut open: Vec<(usize, bool)> = taken.iter().map(|place| (*place, undone)).collect();
        while let Some((place, undone)) = open.pop() {
            let before = self.by[place];
            self.by[place] = if undone { before + 1 } else { before - 1 };
            if (before == 0) != (self.by[place] == 0) {
                let others = self.undoes[place].iter().flatten();
                open.extend(others.map(|other| (*other, !undone)));
            }
        }
    }
}
