//! The transitions of one field, in order.

use std::ops::Range;

use super::{Origin, Proof, Transition};
use crate::difference::Content;
use crate::names::EntryNumber;

/// The transitions of one field, in the order of their entries.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Timeline {
    transitions: Box<[Transition]>,
    /// Whether the entries were filed in the order in which they happened.
    as_filed: bool,
}

impl Timeline {
    /// The transitions, oldest first.
    pub fn transitions(&self) -> &[Transition] {
        &self.transitions
    }

    /// The last transition.
    pub fn last(&self) -> Option<&Transition> {
        self.transitions.last()
    }

    /// What the field holds at the end of the journal, as far as its transitions tell.
    pub fn current(&self) -> Option<&Content> {
        self.last().map(|last| &last.left)
    }

    /// The places of the transitions that one entry tells of, also where there are none: then the place where they would be.
    pub fn places_of(&self, entry: EntryNumber) -> Range<usize> {
        if !self.as_filed {
            let first = self.transitions.iter().position(|step| step.entry == entry).unwrap_or(self.transitions.len());
            let count = self.transitions[first..].iter().take_while(|step| step.entry == entry).count();
            return first..first + count;
        }
        let first = self.transitions.partition_point(|step| step.entry < entry);
        first..first + self.transitions[first..].partition_point(|step| step.entry == entry)
    }

    /// Every content that the field has held, as found or as left.
    pub fn held(&self) -> impl Iterator<Item = &Content> {
        self.transitions.iter().flat_map(|step| step.found.iter().chain([&step.left]))
    }

    /// Whether anything but becoming known has happened to the field.
    pub fn ever_altered(&self) -> bool {
        self.transitions.iter().any(|step| step.origin != Origin::FirstKnown)
    }

    pub(super) fn of(transitions: Vec<Transition>) -> Self {
        let as_filed = transitions.is_sorted_by_key(|step| step.entry);
        // Most have one or two: room for more would be most of what a long journal takes.
        Self { transitions: transitions.into(), as_filed }
    }

    /// The same with entries told by other numbers.
    pub(super) fn numbered(self, number: &impl Fn(EntryNumber) -> EntryNumber) -> Self {
        let mut transitions = self.transitions.into_vec();
        for step in &mut transitions {
            step.entry = number(step.entry);
            if let Origin::Contradicts(of) = &mut step.origin {
                *of = number(*of);
            }
            if let Some(Proof::ReadBack(reading) | Proof::Contradicted(reading)) = &mut step.proof {
                *reading = number(*reading);
            }
        }
        Self::of(transitions)
    }
}
