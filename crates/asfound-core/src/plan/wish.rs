//! Turns a wish to take entries back into targets.

use std::collections::{BTreeMap, BTreeSet};

use super::refusal::{Blocker, PlanRefusal};
use super::target::Targets;
use super::undone::still_standing;
use crate::history::{Field, History, Origin, Timeline, Transition};
use crate::names::{EntryNumber, SettingPath};
use crate::value::Value;

/// Which entries are to be taken back, and what to do where later entries stand in the way.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PutBackWish {
    /// The entries.
    pub entries: BTreeSet<EntryNumber>,
    /// Settings that keep their present value.
    pub keep: BTreeSet<SettingPath>,
    /// Settings for which another value is chosen.
    pub choose: BTreeMap<SettingPath, Value>,
}

/// The targets that take entries back and keep every later one.
///
/// It works field by field. Where entries that stay changed a field after one that is taken
/// back, they stand in the way, unless they were put back since or the field already holds what it should. A target is always
/// a content that the field held before one of the entries, or one that the user chose.
///
/// # Errors
/// When an entry is not there or altered nothing, or when later entries stand in the way.
pub fn put_back<'h>(history: &'h History, wish: &PutBackWish) -> Result<Targets<'h>, PlanRefusal> {
    let last = history.state().last;
    let timelines = history.timelines().values();
    let altering: BTreeSet<EntryNumber> = timelines.flat_map(|timeline| altering(timeline, &wish.entries)).collect();
    for entry in &wish.entries {
        if last.is_none_or(|last| *entry > last) {
            return Err(PlanRefusal::NoEntry(*entry));
        }
        if history.never_made(*entry) {
            let correction = history.corrections_of(*entry).last().copied().unwrap_or(*entry);
            return Err(PlanRefusal::NeverMade { entry: *entry, correction });
        }
        if !altering.contains(entry) {
            return Err(PlanRefusal::NothingIn(*entry));
        }
    }
    targets(history, &wish.entries, wish)
}

/// The targets that bring everything known back to what it was after `entry`.
///
/// What became known only later goes back to the first content that is known of it.
///
/// # Errors
/// When the entry is not there, or what was altered since has no known content to return to.
pub fn return_to(history: &History, entry: EntryNumber) -> Result<Targets<'_>, PlanRefusal> {
    if history.state().last.is_none_or(|last| entry > last) {
        return Err(PlanRefusal::NoEntry(entry));
    }
    let later: BTreeSet<EntryNumber> = history
        .timelines()
        .values()
        .flat_map(|timeline| timeline.transitions())
        .filter(|step| history.place_of(step.entry) > history.place_of(entry) && step.origin != Origin::FirstKnown)
        .map(|step| step.entry)
        .collect();
    targets(history, &later, &PutBackWish::default())
}

/// Those of the entries that altered a field.
fn altering(timeline: &Timeline, entries: &BTreeSet<EntryNumber>) -> Vec<EntryNumber> {
    let steps = timeline.transitions();
    let altered = |step: &Transition| step.origin != Origin::FirstKnown;
    if entries.len() < steps.len() / 8 {
        let altered = |entry: &EntryNumber| steps[timeline.places_of(*entry)].iter().any(altered);
        entries.iter().copied().filter(altered).collect()
    } else {
        let taken = steps.iter().filter(|step| altered(step) && entries.contains(&step.entry));
        taken.map(|step| step.entry).collect()
    }
}

fn targets<'h>(
    history: &'h History,
    entries: &BTreeSet<EntryNumber>,
    wish: &PutBackWish,
) -> Result<Targets<'h>, PlanRefusal> {
    let mut targets = Targets::new();
    let (mut blockers, mut no_way_back) = (Vec::new(), Vec::new());
    for (field, timeline) in history.timelines() {
        if altering(timeline, entries).is_empty() {
            continue;
        }
        let taken = |step: &Transition| entries.contains(&step.entry) && step.origin != Origin::FirstKnown;
        let steps = still_standing(history, timeline, entries);
        let Some(first) = steps.iter().position(|step| taken(step)) else { continue };
        if let Field::Setting(path) = field {
            if wish.keep.contains(path) {
                continue;
            }
            if let Some(value) = wish.choose.get(path) {
                targets.choose(field.clone(), value.clone());
                continue;
            }
        }
        let Some(content) = &steps[first].found else {
            no_way_back.push(field.clone());
            continue;
        };
        let in_the_way: Vec<EntryNumber> =
            steps[first..].iter().filter(|step| !taken(step)).map(|step| step.entry).collect();
        let as_wanted = timeline.current().is_some_and(|current| current.same(content));
        if in_the_way.is_empty() || as_wanted {
            targets.restore_before(field, content, steps[first].entry);
        } else {
            blockers.push(Blocker { field: field.clone(), wanted: steps[first].entry, in_the_way });
        }
    }
    if !blockers.is_empty() {
        return Err(PlanRefusal::Blocked(blockers));
    }
    if !no_way_back.is_empty() {
        return Err(PlanRefusal::NoWayBack(no_way_back));
    }
    Ok(targets)
}
