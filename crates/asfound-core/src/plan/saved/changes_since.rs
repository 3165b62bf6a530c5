//! Whether the journal has moved on in a field that a saved plan touches.

use std::collections::BTreeSet;

use thiserror::Error;

use super::SavedPlan;
use crate::definition::DefinitionSet;
use crate::difference::{Content, ModuleSnapshot};
use crate::entry::{Entry, StepPlace};
use crate::history::Field;
use crate::names::{EntryNumber, RecordName, Tag};
use crate::state::{InvalidEffect, State};
use crate::value::BitMask;

/// A field that an entry moved after a plan was saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangedField {
    /// The field.
    pub field: Field,
    /// The first entry that moved it.
    pub entry: EntryNumber,
}

/// Why a saved plan cannot be held against a journal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotThisJournal {
    /// It is about another vehicle.
    #[error("the plan is for `{plan}`, not for `{journal}`")]
    Vehicle {
        /// The plan's vehicle.
        plan: Tag,
        /// The journal's.
        journal: Tag,
    },
    /// It stands on an entry that the journal does not have.
    #[error("the plan stands on entry {stands_on}, the journal of `{tag}` ends with entry {last}")]
    Shorter {
        /// The vehicle.
        tag: Tag,
        /// The entry on which the plan stands.
        stands_on: EntryNumber,
        /// The journal's last entry.
        last: u32,
    },
    /// The journal's entries do not follow from each other.
    #[error(transparent)]
    Misfit(#[from] InvalidEffect),
}

impl SavedPlan {
    /// Whether a part of this plan was carried out in an entry.
    pub fn is_in(&self, entry: &Entry) -> bool {
        entry.body.work().is_some_and(|work| work.plan.as_ref() == Some(&self.id))
    }

    /// The entries in which parts of this plan were carried out.
    pub fn own<'e>(&self, entries: impl IntoIterator<Item = &'e Entry>) -> BTreeSet<EntryNumber> {
        entries.into_iter().filter(|entry| self.is_in(entry)).map(|entry| entry.number).collect()
    }

    /// The places of which only a reading can tell what became of them: where a step of this plan was left in doubt,
    /// or read back otherwise, and no later entry about this plan says more.
    pub fn doubtful<'e>(&self, entries: impl IntoIterator<Item = &'e Entry>) -> BTreeSet<StepPlace> {
        let mut doubtful = BTreeSet::new();
        for work in entries.into_iter().filter(|entry| self.is_in(entry)).filter_map(|entry| entry.body.work()) {
            for step in &work.steps {
                let Some(place) = step.place() else { continue };
                if step.outcome.is_doubtful() {
                    doubtful.insert(place);
                } else if step.outcome.is_made() {
                    doubtful.remove(&place);
                }
            }
        }
        doubtful
    }

    /// The fields of the plan that entries moved after it was saved, as [`ChangesSince::finish`] tells them.
    ///
    /// # Errors
    /// When the journal is not the one that the plan was made for.
    pub fn moved(&self, entries: &[Entry], definitions: &DefinitionSet) -> Result<Vec<ChangedField>, NotThisJournal> {
        let mut moving = ChangesSince::of(self, definitions);
        entries.iter().try_for_each(|entry| moving.push(entry))?;
        moving.finish()
    }

    fn contents(&self, state: &State, definitions: &DefinitionSet) -> Vec<Option<Content>> {
        self.fields.iter().map(|field| content(state, definitions, field)).collect()
    }
}

/// A saved plan held against a journal, one entry after the other.
#[derive(Debug)]
pub struct ChangesSince<'p> {
    plan: &'p SavedPlan,
    definitions: &'p DefinitionSet,
    state: State,
    moved: Vec<ChangedField>,
}

impl<'p> ChangesSince<'p> {
    /// Before the first entry.
    pub fn of(plan: &'p SavedPlan, definitions: &'p DefinitionSet) -> Self {
        Self { plan, definitions, state: State::default(), moved: Vec::new() }
    }

    /// Takes in the next entry.
    ///
    /// # Errors
    /// When it does not follow from those before.
    pub fn push(&mut self, entry: &Entry) -> Result<(), NotThisJournal> {
        let later = entry.number > self.plan.stands_on && !self.plan.is_in(entry);
        let before = later.then(|| self.plan.contents(&self.state, self.definitions));
        self.state.apply(entry)?;
        let Some(before) = before else { return Ok(()) };
        let after = self.plan.contents(&self.state, self.definitions);
        for ((field, before), after) in self.plan.fields.iter().zip(before).zip(after) {
            let same = match (before, after) {
                (Some(before), Some(after)) => before.same(&after),
                (before, after) => before.is_none() && after.is_none(),
            };
            if !same && !self.moved.iter().any(|earlier| earlier.field == *field) {
                self.moved.push(ChangedField { field: field.clone(), entry: entry.number });
            }
        }
        Ok(())
    }

    /// The fields of the plan that entries moved after it was saved, each with the first such entry. Entries in which
    /// the plan itself was carried out do not count, nor does a reading that found everything as it was known.
    ///
    /// # Errors
    /// When the journal is not the one that the plan was made for.
    pub fn finish(self) -> Result<Vec<ChangedField>, NotThisJournal> {
        let Self { plan, state, moved, .. } = self;
        if let Some(vehicle) = state.vehicle.filter(|vehicle| vehicle.tag != plan.vehicle) {
            return Err(NotThisJournal::Vehicle { plan: plan.vehicle.clone(), journal: vehicle.tag });
        }
        let last = state.last.map_or(0, EntryNumber::get);
        if last < plan.stands_on.get() {
            return Err(NotThisJournal::Shorter { tag: plan.vehicle.clone(), stands_on: plan.stands_on, last });
        }
        Ok(moved)
    }
}

/// What a field holds in a state.
pub(in crate::plan) fn content(state: &State, definitions: &DefinitionSet, field: &Field) -> Option<Content> {
    let module = state.module(field.module())?;
    let definition = definitions.fitting(field.module(), &module.identity).ok().flatten();
    match field {
        Field::Setting(path) => ModuleSnapshot { module, definition }.content(&path.setting),
        Field::Undeclared { record, mask, .. } => {
            let known = module.records.get(record)?;
            let mut mask = mask.clone();
            if let Some(layout) = definition.and_then(|definition| definition.record(record)) {
                mask.remove(layout.volatile());
            }
            Some(Content::bits(&mask, &known.bytes))
        }
    }
}

/// All bits of a record as one field, for records that are wished for whole.
pub(super) fn whole(module: &crate::names::ModuleName, record: &RecordName, length: usize) -> Field {
    Field::Undeclared { module: module.clone(), record: record.clone(), mask: BitMask::all(length) }
}
