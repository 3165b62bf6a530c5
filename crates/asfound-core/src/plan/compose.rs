//! A plan, and how one is made of targets.

use std::collections::{BTreeMap, BTreeSet};

use super::composition::{Composition, Purpose};
use super::open_steps::open_steps_of;
use super::refusal::PlanRefusal;
use super::rules::{RuleBook, RuleBreach};
use super::sequencing::{StepContext, brought_about, order};
use super::step::{Step, Write};
use super::target::Targets;
use crate::definition::DefinitionSet;
use crate::history::{Field, History};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingName, SettingPath};
use crate::value::BitMask;

/// A field that cannot be brought to what is wanted, and why; the rest of the plan does without it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BlockedField {
    /// The field.
    pub field: Field,
    /// Why.
    pub why: String,
}

/// A list of steps, in an order in which every write is safe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The entry on which the plan stands.
    pub stands_on: EntryNumber,
    /// The steps, in order.
    pub steps: Vec<Step>,
    /// Fields that are as wanted already.
    pub settled: Vec<Field>,
    /// Fields that cannot be brought to what is wanted.
    pub blocked: Vec<BlockedField>,
    /// Rules that are broken already, whatever is done.
    pub broken_before: Vec<RuleBreach>,
}

/// Plans how to bring a vehicle to the targets.
///
/// Writes to one record are one step, a record that is right already is not written, restricted records come last. A rule
/// that held before the plan holds after every write; one that was broken is reported and gets no worse: of its
/// needs no further one fails, of its groups no further two meet. Where no order of single writes keeps that, a record may
/// be written several times ([`super::Intermediate`]); the plan has the fewest writes. Where nobody knows what became of
/// an earlier step, nothing is planned on its bytes ([`PlanRefusal::InDoubt`]).
///
/// # Errors
/// The reason why there is no such plan.
pub fn plan(history: &History, definitions: &DefinitionSet, targets: &Targets<'_>) -> Result<Plan, PlanRefusal> {
    let state = history.state();
    if !targets.read_first {
        let doubts = open_steps_of(history, definitions, targets);
        if !doubts.is_empty() {
            return Err(PlanRefusal::InDoubt(doubts));
        }
    }
    let (steps, blocked) = Composition::new(history, definitions, targets, Purpose::Work).steps()?;
    if steps.is_empty() && blocked.is_empty() {
        return Err(PlanRefusal::Nothing);
    }
    let book = RuleBook::of(state, definitions);
    let broken_before = book.breaches();
    let mut found = book;
    steps.iter().for_each(|step| told(&mut found, step));
    let parts = found.kept_parts();
    let mut wanted = found.clone();
    steps.iter().for_each(|step| brought_about(&mut wanted, step));
    let broken = parts.iter().filter(|part| part.broken(|path| wanted.value(path)));
    let broken: BTreeSet<usize> = broken.map(|part| part.rule).collect();
    if !broken.is_empty() {
        return Err(PlanRefusal::BreaksRules(broken.into_iter().map(|rule| wanted.breach(rule)).collect()));
    }
    let steps = order(steps, &parts, &found, &StepContext { state, definitions, spare: &targets.spare })?;
    let moved = AlteredFields::by(&steps);
    let blocked_fields: BTreeSet<&Field> = blocked.iter().map(|blocked| &blocked.field).collect();
    let settled = targets.fields().filter(|field| !moved.has(field) && !blocked_fields.contains(field));
    let settled = settled.cloned().collect();
    let stands_on = state.last.unwrap_or(EntryNumber::FIRST);
    Ok(Plan { stands_on, steps, settled, blocked, broken_before })
}

/// Takes on what somebody told was found where the journal knows nothing.
fn told(book: &mut RuleBook<'_>, step: &Step) {
    for setting in &step.settings {
        let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
        if let Some(found) = setting.found.as_ref().filter(|_| book.value(&path).is_none()) {
            book.set(&path, RuleBook::value_in(found));
        }
    }
}

/// What steps alter.
struct AlteredFields<'s> {
    settings: BTreeSet<(&'s ModuleName, &'s SettingName)>,
    bits: BTreeMap<(&'s ModuleName, &'s RecordName), &'s BitMask>,
}

impl<'s> AlteredFields<'s> {
    fn by(steps: &'s [Step]) -> Self {
        let settings = steps.iter().flat_map(|step| step.settings.iter().map(|it| (&step.module, &it.setting)));
        let bits = steps.iter().filter(|step| !step.undeclared.is_empty()).filter_map(|step| match &step.write {
            Write::Record { record, .. } => Some(((&step.module, record), &step.undeclared)),
            Write::BlindRecord { .. } | Write::ByName { .. } => None,
        });
        Self { settings: settings.collect(), bits: bits.collect() }
    }

    fn has(&self, field: &Field) -> bool {
        match field {
            Field::Setting(path) => self.settings.contains(&(&path.module, &path.setting)),
            Field::Undeclared { module, record, mask } => {
                self.bits.get(&(module, record)).is_some_and(|moved| moved.overlaps(mask))
            }
        }
    }
}
