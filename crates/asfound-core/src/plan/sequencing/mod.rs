//! Finds an order of the writes in which every rule that held before the plan holds after each of them.
//!
//! # What is kept
//!
//! A rule is taken apart into [`Part`]s, each of which must never be the case. A part that is not broken before the plan is
//! not broken after any write. A rule that is broken already is so kept from getting worse: of its
//! needs no further one fails, of its groups no further two meet.
//!
//! # How
//!
//! Restricted records come after everything else; the two phases are ordered one after the other. In each, which write
//! must come before which makes a graph; what runs in no circle is ordered in polynomial time, by module and record
//! where rules leave a choice. A circle is ordered by a search where some rule leaves a choice, and where there is no
//! order of single writes it is a knot. A record of it may then be written several times: to any mixture of its settings as
//! found and as wanted, and where a setting has at most eight permitted values also to any other of these. The way with the
//! fewest writes is taken, and of those one with the fewest values that were neither found nor are wanted. A search
//! looks at no more than 50,000 contents of all its records together, and at no more than 255 contents of one record.

mod constraint;
mod phase;
mod precedence;
mod rule_cycle;
mod rule_part;
mod search;
mod single;
mod step_context;
mod writable;

pub(super) use rule_part::Part;
pub(super) use step_context::StepContext;

use phase::Phase;
use rule_cycle::WholePlan;
use writable::Writable;

use super::refusal::PlanRefusal;
use super::rules::RuleBook;
use super::step::{Step, Write};
use crate::names::SettingPath;
use crate::safety::SafetyClass;
use crate::value::Value;

/// Puts the single writes of a plan in order, and divides some where that unties a knot. `parts` are those that are not
/// broken before the plan, `book` has the values then.
///
/// # Errors
/// The knot.
pub(super) fn order(
    mut steps: Vec<Step>,
    parts: &[Part<'_>],
    book: &RuleBook<'_>,
    context: &StepContext<'_>,
) -> Result<Vec<Step>, PlanRefusal> {
    steps.sort_by_cached_key(|step| (step.class == SafetyClass::Restricted, step.module.clone(), written(step)));
    let writables: Vec<Writable<'_>> =
        steps.into_iter().map(|step| Writable::of(step, |path| context.defined(path))).collect();
    let unrestricted = writables.iter().filter(|writable| !writable.restricted).count();
    let mut now = book.clone();
    let mut steps = Vec::new();
    for phase in [0..unrestricted, unrestricted..writables.len()] {
        let of_phase = &writables[phase];
        if of_phase.is_empty() {
            continue;
        }
        let phase = Phase { writables: of_phase, parts, book: &now };
        let made = match phase.order() {
            Ok(ordered) => context.steps(of_phase, &ordered, book)?,
            Err(deadlock) => {
                let mut more = of_phase.to_vec();
                for path in context.spare {
                    let altered = writables.iter().flat_map(|writable| &writable.settings);
                    if altered.map(|setting| &setting.path).all(|altered| altered != path) {
                        context.spare(path, of_phase[0].restricted, &mut more);
                    }
                }
                match (Phase { writables: &more, parts, book: &now }).order() {
                    Ok(ordered) => context.steps(&more, &ordered, book)?,
                    Err(_) => {
                        let whole = WholePlan { context, parts, writables: &writables, unrestricted, before: book };
                        return Err(PlanRefusal::Knot(whole.name(&phase, &deadlock)));
                    }
                }
            }
        };
        steps.extend(made);
        of_phase.iter().for_each(|writable| brought_about(&mut now, &writable.step));
    }
    Ok(steps)
}

/// What a step writes: by name first, then by record.
fn written(step: &Step) -> (Option<String>, Option<String>) {
    match &step.write {
        Write::Record { record, .. } | Write::BlindRecord { record, .. } => (Some(record.to_string()), None),
        Write::ByName { setting, .. } => (None, Some(setting.to_string())),
    }
}

/// The values that a step brings about.
fn values_of(step: &Step) -> impl Iterator<Item = (SettingPath, Option<Value>)> {
    step.settings.iter().map(|setting| {
        let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
        (path, RuleBook::value_in(&setting.left))
    })
}

/// Takes on what a step brings about.
pub(super) fn brought_about(book: &mut RuleBook<'_>, step: &Step) {
    for (path, value) in values_of(step) {
        book.set(&path, value);
    }
}
