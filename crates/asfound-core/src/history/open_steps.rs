//! Steps of which nobody knows what became of them: they stay in doubt until what they wrote to is read.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::coverage::settings_told;
use crate::definition::DefinitionSet;
use crate::entry::{Body, Entry, Moment, StepOutcome, StepPlace};
use crate::names::EntryNumber;
use crate::state::State;

/// A step that was left in doubt, or read back otherwise than wanted, and that no later reading has answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenStep {
    /// Where it was to write.
    pub place: StepPlace,
    /// The entry of the work.
    pub entry: EntryNumber,
    /// What is known of it.
    pub outcome: StepOutcome,
    moment: Moment,
}

/// The steps that are open after the entries that were pushed, derived from them and nowhere stored.
#[derive(Debug, Clone, Default)]
pub struct OpenSteps {
    open: BTreeMap<StepPlace, OpenStep>,
}

impl OpenSteps {
    /// Takes in the next entry; `state` is the state after it.
    ///
    /// A reading that gives the record or setting answers, where it was certainly taken after the work; so does a later step
    /// at the same place that is known to be made. A refusal by the module, work without a reading and a correction do not:
    /// they are words, or say nothing of what is there.
    pub fn push(&mut self, entry: &Entry, state: &State, definitions: &DefinitionSet) {
        for step in entry.body.work().into_iter().flat_map(|work| &work.steps) {
            let Some(place) = step.place() else { continue };
            if step.outcome.is_doubtful() {
                let (entry, moment) = (entry.number, entry.moment());
                self.open.insert(place.clone(), OpenStep { place, entry, outcome: step.outcome, moment });
            } else if step.outcome.is_made() {
                self.open.remove(&place);
            }
        }
        let Body::Reading(reading) = &entry.body else { return };
        if self.open.is_empty() {
            return;
        }
        for (module, covered) in &reading.covered {
            let definition = definitions.fitting(module, &state.identity(module)).ok().flatten();
            let records = covered.records.iter().map(|record| StepPlace::Record(module.clone(), record.clone()));
            let settings = settings_told(module, covered, definition).into_iter().map(StepPlace::Setting);
            for place in records.chain(settings) {
                if self.open.get(&place).is_some_and(|open| open.moment.is_before(&entry.moment())) {
                    self.open.remove(&place);
                }
            }
        }
    }

    /// Those of work that certainly happened by a moment.
    pub(super) fn until(mut self, until: OffsetDateTime) -> Self {
        self.open.retain(|_, open| open.moment.span().last() <= until);
        self
    }

    /// The open steps, by place.
    pub fn open(&self) -> impl ExactSizeIterator<Item = &OpenStep> {
        self.open.values()
    }

    /// The open step at one place.
    pub fn at(&self, place: &StepPlace) -> Option<&OpenStep> {
        self.open.get(place)
    }
}
