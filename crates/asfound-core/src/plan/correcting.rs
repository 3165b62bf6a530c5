//! What a correction makes of the journal: nothing is done to the vehicle.

use super::composition::{Composition, Purpose};
use super::refusal::{Blocker, PlanRefusal};
use super::target::Targets;
use super::work::add;
use crate::definition::DefinitionSet;
use crate::entry::Effects;
use crate::history::{History, Origin, Proof};
use crate::names::EntryNumber;

/// The targets that take work out of the journal that was never made.
///
/// A field that later entries altered again holds what these say; the others go back to what they held before. Work that
/// a reading has read back, or a bus log has witnessed, stands: that reading or log is in the way.
///
/// # Errors
/// When the entry is not there, is no work, or was read back; when what a field held before is not known.
pub fn never_made(history: &History, entry: EntryNumber) -> Result<Targets<'_>, PlanRefusal> {
    if history.state().last.is_none_or(|last| entry > last) {
        return Err(PlanRefusal::NoEntry(entry));
    }
    if history.never_made(entry) {
        let correction = history.corrections_of(entry).last().copied().unwrap_or(entry);
        return Err(PlanRefusal::NeverMade { entry, correction });
    }
    let (mut targets, mut blockers, mut unknown) = (Targets::new(), Vec::new(), Vec::new());
    let mut is_work = false;
    for (field, step) in history.transitions_of(entry).filter(|(_, step)| step.origin == Origin::Work) {
        is_work = true;
        if let Some(Proof::ReadBack(reading) | Proof::PartlyWitnessed(reading) | Proof::Witnessed(reading)) =
            history.proof(field, entry)
        {
            blockers.push(Blocker { field: field.clone(), wanted: entry, in_the_way: vec![reading] });
        } else if history.last_said(field) == Some(entry) {
            match &step.found {
                Some(content) => targets.restore_before(field, content, entry),
                None => unknown.push(field.clone()),
            }
        }
    }
    if !is_work {
        Err(PlanRefusal::NothingIn(entry))
    } else if !blockers.is_empty() {
        Err(PlanRefusal::Blocked(blockers))
    } else if !unknown.is_empty() {
        Err(PlanRefusal::NoWayBack(unknown))
    } else {
        Ok(targets)
    }
}

/// The effects by which a correction brings the journal to what is told, in the order of modules and records; none where
/// it has everything like that.
///
/// It tells what is there, so that neither rules between settings nor values that a definition does not permit stand in
/// its way.
///
/// # Errors
/// When something that is told cannot be in the vehicle as the definitions have it, or is not known to be different.
pub fn corrected(
    history: &History,
    definitions: &DefinitionSet,
    targets: &Targets<'_>,
) -> Result<Effects, PlanRefusal> {
    let (mut steps, blocked) = Composition::new(history, definitions, targets, Purpose::Correction).steps()?;
    if let Some(blocked) = blocked.into_iter().next() {
        return Err(PlanRefusal::CannotSet { field: blocked.field.to_string(), why: blocked.why });
    }
    steps.sort_by(|a, b| a.module.cmp(&b.module));
    let mut effects = Effects::default();
    for step in &steps {
        add(&mut effects, step);
    }
    Ok(effects)
}
