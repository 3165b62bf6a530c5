//! A plan, and how one is made of targets.

use super::composition::{Composition, Purpose};
use super::order::{made, newly_broken, order};
use super::refusal::PlanRefusal;
use super::rules::{RuleBook, RuleBreach};
use super::step::{Step, Write};
use super::target::Targets;
use crate::definition::DefinitionSet;
use crate::history::{Field, History};
use crate::names::EntryNumber;

/// A field that cannot be brought to what is wanted, and why; the rest of the plan does without it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocked {
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
    pub blocked: Vec<Blocked>,
    /// Rules that are broken already, whatever is done.
    pub broken_before: Vec<RuleBreach>,
}

/// Plans how to bring a vehicle to the targets.
///
/// Writes to one record are one step, a record that is right already is not written, rules
/// hold after every write wherever they held before it, restricted records come last.
///
/// # Errors
/// The reason why there is no such plan.
pub fn plan(history: &History, definitions: &DefinitionSet, targets: &Targets) -> Result<Plan, PlanRefusal> {
    let state = history.state();
    let (steps, blocked) = Composition::new(history, definitions, targets, Purpose::Work).steps()?;
    if steps.is_empty() && blocked.is_empty() {
        return Err(PlanRefusal::Nothing);
    }
    let book = RuleBook::of(state, definitions);
    let broken_before = book.breaches();
    let mut wanted = book.clone();
    steps.iter().for_each(|step| made(&mut wanted, step));
    let broken = newly_broken(&book.verdicts(), &wanted.verdicts());
    if !broken.is_empty() {
        return Err(PlanRefusal::BreaksRules(broken.into_iter().map(|rule| wanted.breach(rule)).collect()));
    }
    let steps = order(steps, &book).map_err(PlanRefusal::Knot)?;
    let settled = targets.fields().filter(|field| !moved(&steps, field) && !blocked.iter().any(|b| b.field == **field));
    let settled = settled.cloned().collect();
    let stands_on = state.last.unwrap_or(EntryNumber::FIRST);
    Ok(Plan { stands_on, steps, settled, blocked, broken_before })
}

/// Whether a step alters a field.
fn moved(steps: &[Step], field: &Field) -> bool {
    steps.iter().filter(|step| step.module == *field.module()).any(|step| match field {
        Field::Setting(path) => step.settings.iter().any(|setting| setting.setting == path.setting),
        Field::Undeclared { record, mask, .. } => {
            matches!(&step.write, Write::Record { record: r, .. } if r == record) && step.undeclared.overlaps(mask)
        }
    })
}
