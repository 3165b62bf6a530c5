//! Makes the transitions of one field of what the entries, one by one, say of it.

use std::collections::BTreeSet;

use super::corrections::Corrections;
use super::{HandKind, Origin, Timeline, Transition};
use crate::difference::Content;
use crate::names::EntryNumber;

/// What kind of entry says that a field holds something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// A reading, with what another hand would be if nothing accounts for the difference.
    Reading(HandKind),
    /// Recorded work.
    Work,
    /// A correction of that entry.
    Correction(EntryNumber),
}

impl Source {
    /// The entry that answers for what `entry` says: for a correction the one that it corrects. Nothing for work that
    /// was never made and for its correction, which say nothing of the vehicle.
    pub(super) fn answers(self, entry: EntryNumber, corrections: &Corrections) -> Option<EntryNumber> {
        match self {
            Self::Reading(_) => Some(entry),
            Self::Work => Some(entry).filter(|made| !corrections.never_made(*made)),
            Self::Correction(corrects) => Some(corrects).filter(|made| !corrections.never_made(*made)),
        }
    }
}

/// What one entry says of one field, as the state before and after it has it.
#[derive(Debug, Clone)]
pub(super) struct Observed {
    pub(super) entry: EntryNumber,
    pub(super) source: Source,
    pub(super) found: Option<Content>,
    pub(super) left: Content,
}

/// The transitions of one field.
///
/// Work that was never made is left out, and what followed it stands on what was there; a correction of the last
/// transition amends it; a reading is held against the work before it. `readings` are those that gave the field; `told`
/// gives what a correction says that an entry found, for that entry and what it left; `witnessed` whether a bus log shows that
/// an entry's work left that and was read back.
pub(super) fn settle(
    steps: &[Observed],
    corrections: &Corrections,
    readings: &BTreeSet<EntryNumber>,
    told: impl Fn(EntryNumber, &Content) -> Option<Content>,
    witnessed: impl Fn(EntryNumber, &Content) -> bool,
) -> Timeline {
    let mut chain: Vec<Transition> = Vec::new();
    // What the entries so far say that the field holds, and what it holds without work that was never made.
    let (mut said, mut real): (Option<&Content>, Option<Content>) = (None, None);
    let mut correction = None;
    for step in steps {
        let same = |content: Option<&Content>| content.zip(step.found.as_ref()).is_some_and(|(a, b)| a.same(b));
        // Where it holds what it is said to hold, the entry may know more of it: bits that were read since, say, of a value that was
        // told by name.
        let found = if same(said) && !same(real.as_ref()) { real.clone() } else { step.found.clone() };
        said = Some(&step.left);
        match step.source {
            Source::Work if corrections.never_made(step.entry) => {
                real = found;
                continue;
            }
            // It takes the work out of the state, which is left out here already.
            Source::Correction(corrects) if corrections.never_made(corrects) => {
                correction = Some(step.entry);
                continue;
            }
            _ => real = Some(step.left.clone()),
        }
        if let (Source::Correction(corrects), Some(last)) = (step.source, chain.last_mut())
            && last.entry == corrects
        {
            amend(&mut chain, &step.left);
            continue;
        }
        let told = told(step.entry, &step.left);
        if told.is_none() && found.as_ref().is_some_and(|found| found.same(&step.left)) {
            continue;
        }
        let found = told.or(found);
        let origin = origin(step, found.as_ref(), chain.last(), readings, &witnessed);
        chain.push(Transition { entry: step.entry, origin, found, left: step.left.clone() });
    }
    // A correction that leaves something else than what was there without the work tells of that as well.
    if let (Some(entry), Some(said)) = (correction, said)
        && real.as_ref().is_some_and(|real| !real.same(said))
    {
        chain.push(Transition { entry, origin: Origin::Work, found: real, left: said.clone() });
    }
    Timeline::of(chain)
}

/// Lets the last transition leave something else; if it alters nothing any more it is none.
fn amend(chain: &mut Vec<Transition>, left: &Content) {
    let others = chain.len() > 1 || matches!(left, Content::Bits { .. });
    if let Some(last) = chain.last_mut() {
        last.left = left.clone();
        if others && last.found.as_ref().is_some_and(|found| found.same(left)) {
            chain.pop();
        }
    }
}

/// A reading contradicts the work before it if it is the first that gives the field since then, and if the module is
/// still the same: what another unit or other software holds says nothing of the work. Work that was read back on the bus is
/// not contradicted by what is read later.
fn origin(
    step: &Observed,
    found: Option<&Content>,
    last: Option<&Transition>,
    readings: &BTreeSet<EntryNumber>,
    witnessed: &impl Fn(EntryNumber, &Content) -> bool,
) -> Origin {
    let Source::Reading(kind) = step.source else {
        return Origin::Work;
    };
    let Some(found) = found else {
        return Origin::FirstKnown;
    };
    match last {
        Some(last)
            if kind == HandKind::SettingsAltered
                && last.origin == Origin::Work
                && last.left.same(found)
                && !readings.iter().any(|reading| *reading > last.entry && *reading < step.entry)
                && !witnessed(last.entry, &last.left) =>
        {
            Origin::Contradicts(last.entry)
        }
        _ => Origin::AnotherHand(kind),
    }
}
