//! Makes the transitions of one field of what the entries, one by one, say of it.

use std::collections::{BTreeMap, BTreeSet};

use super::chronology::Chronology;
use super::corrections::Corrections;
use super::{Doubt, HandKind, Origin, Proof, Timeline, Transition};
use crate::difference::Content;
use crate::names::EntryNumber;
use crate::sameness::Sameness;

/// What kind of entry says that a field holds something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ContentSource {
    /// A reading, with what another hand would be if nothing accounts for the difference.
    Reading(HandKind),
    /// Recorded work.
    Work,
    /// A correction of that entry.
    Correction(EntryNumber),
}

impl ContentSource {
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
pub(super) struct FieldObservation {
    pub(super) entry: EntryNumber,
    pub(super) source: ContentSource,
    pub(super) found: Option<Content>,
    pub(super) left: Content,
    /// What work is told to have found, where entries are told in the order of their moments.
    pub(super) told: Option<Content>,
    /// The unit that it speaks of.
    pub(super) unit: usize,
    /// Why nothing is concluded from a difference that a reading shows, whatever else is known.
    pub(super) doubt: Option<Doubt>,
}

/// What the transitions of one field follow from besides what its entries say.
pub(super) struct FieldContext<'a> {
    /// What later entries say of earlier ones.
    pub(super) corrections: &'a Corrections,
    /// The readings that gave the field.
    pub(super) readings: &'a BTreeSet<EntryNumber>,
    /// Which entry is certainly earlier than which.
    pub(super) chronology: &'a Chronology,
    /// The unit that was there at an entry.
    pub(super) unit_at: &'a dyn Fn(EntryNumber) -> usize,
    /// The readings of the module, whatever they gave, with the unit that each shows.
    pub(super) module_readings: &'a [(EntryNumber, usize)],
    /// Whether a unit's serial number is known.
    pub(super) has_serial: &'a dyn Fn(usize) -> bool,
    /// Whether it was known at an entry which unit was there.
    pub(super) unit_known_at: &'a dyn Fn(EntryNumber) -> bool,
    /// What a correction says that an entry found, for that entry and what it left.
    pub(super) told: &'a dyn Fn(EntryNumber, &Content) -> Option<Content>,
    /// Whether a bus log shows that an entry's work left that and was read back.
    pub(super) witnessed: &'a dyn Fn(EntryNumber, &Content) -> bool,
}

/// The transitions of one field.
///
/// Work that was never made is left out, and what followed it stands on what was there; a correction of the last
/// transition amends it. A reading is held against what the same unit held before, and proves or contradicts work on that
/// unit only. Where it may have been taken before some work, nothing is concluded from it.
pub(super) fn settle(steps: &[FieldObservation], around: &FieldContext<'_>) -> Timeline {
    let corrections = around.corrections;
    let mut chain = TransitionChain::default();
    // What the entries so far say that the field holds, and what it holds without work that was never made.
    let (mut said, mut real): (Option<&Content>, Option<Content>) = (None, None);
    let mut correction = None;
    let mut real_before: Vec<Option<Content>> = Vec::with_capacity(steps.len());
    for (at, step) in steps.iter().enumerate() {
        real_before.push(real.clone());
        chain.prove(around, Some(step.entry));
        let same = |content: Option<&Content>| content.zip(step.found.as_ref()).is_some_and(|(a, b)| a.same(b));
        // Where it holds what it is said to hold, the entry may know more of it: bits that were read since, say, of a value that was
        // told by name.
        let found = if same(said) && !same(real.as_ref()) { real.clone() } else { step.found.clone() };
        said = Some(&step.left);
        match step.source {
            ContentSource::Work if corrections.never_made(step.entry) => {
                real = found;
                continue;
            }
            // It takes the work out of the state, which is left out here already.
            ContentSource::Correction(corrects) if corrections.never_made(corrects) => {
                correction = Some(step.entry);
                continue;
            }
            ContentSource::Reading(_) => match out_of_order(steps, at, &real_before, around) {
                Some(true) => continue,
                Some(false) => {
                    real = Some(step.left.clone());
                    chain.cannot_tell(step, found, Doubt::Order);
                    continue;
                }
                None => {}
            },
            _ => {}
        }
        real = Some(step.left.clone());
        if let (ContentSource::Correction(corrects), Some(last)) = (step.source, chain.transitions.last())
            && last.entry == corrects
        {
            chain.amend(step);
            continue;
        }
        let told = (around.told)(step.entry, &step.left);
        match step.source {
            ContentSource::Reading(kind) => chain.reading(step, kind, told.or(found), around),
            ContentSource::Work | ContentSource::Correction(_) => {
                if told.is_none() && found.as_ref().is_some_and(|found| found.same(&step.left)) {
                    chain.saw(step);
                } else {
                    chain.work(step, told.or(found));
                }
            }
        }
    }
    chain.prove(around, None);
    // A correction that leaves something else than what was there without the work tells of that as well.
    if let (Some(entry), Some(said)) = (correction, said)
        && real.as_ref().is_some_and(|real| !real.same(said))
    {
        let proof = Some(Proof::Stated);
        chain.transitions.push(Transition { entry, origin: Origin::Work, found: real, left: said.clone(), proof });
    }
    Timeline::of(chain.transitions)
}

/// Whether a reading, of which it cannot be told whether it was taken before or after some work, shows what was there before it or
/// what that work left; nothing where its place is certain.
fn out_of_order(
    steps: &[FieldObservation],
    at: usize,
    before: &[Option<Content>],
    around: &FieldContext<'_>,
) -> Option<bool> {
    if around.chronology.is_as_filed() {
        return None;
    }
    let reading = &steps[at];
    let unordered = |step: &&(usize, &FieldObservation)| {
        let order = around.chronology;
        step.1.source == ContentSource::Work
            && !around.corrections.never_made(step.1.entry)
            && !order.is_before(step.1.entry, reading.entry)
            && !order.is_before(reading.entry, step.1.entry)
    };
    let all: Vec<(usize, &FieldObservation)> = steps.iter().enumerate().collect();
    let work: Vec<&(usize, &FieldObservation)> = all.iter().filter(unordered).collect();
    let first = work.first()?.0.min(at);
    let was = before.get(first).and_then(Option::as_ref);
    let agrees = |content: &Content| !content.compare(&reading.left).is_different();
    Some(was.is_none_or(agrees) || work.iter().any(|(_, work)| agrees(&work.left)))
}

/// What is known of one unit.
#[derive(Debug, Clone)]
struct UnitMemory {
    content: Content,
    /// The last work on it, by its place in the chain, until a reading tells of it.
    work: Option<usize>,
}

#[derive(Default)]
struct TransitionChain {
    transitions: Vec<Transition>,
    units: BTreeMap<usize, UnitMemory>,
    /// The unit of the last step.
    here: Option<usize>,
    /// The first reading that was not looked at yet.
    from: Option<EntryNumber>,
}

impl TransitionChain {
    /// Lets the readings before an entry prove the work that is still stated: they show what was known.
    fn prove(&mut self, around: &FieldContext<'_>, until: Option<EntryNumber>) {
        let from = self.from.unwrap_or(EntryNumber::FIRST);
        self.from = until.and_then(EntryNumber::next).or(until);
        if until.is_some_and(|until| until <= from) || self.units.values().all(|memory| memory.work.is_none()) {
            return;
        }
        for reading in around.readings.range(from..).take_while(|reading| until.is_none_or(|until| **reading < until)) {
            let Some(memory) = self.units.get_mut(&(around.unit_at)(*reading)) else { continue };
            let Some(at) = memory.work else { continue };
            let Some(work) = self.transitions.get_mut(at) else { continue };
            if around.chronology.is_before(work.entry, *reading) {
                work.proof = Some(Proof::ReadBack(*reading));
                memory.work = None;
                if self.units.values().all(|memory| memory.work.is_none()) {
                    return;
                }
            }
        }
    }

    fn remember(&mut self, step: &FieldObservation, work: Option<usize>) {
        self.here = Some(step.unit);
        self.units.insert(step.unit, UnitMemory { content: step.left.clone(), work });
    }

    /// Notes what a unit holds, where that is nothing new.
    fn saw(&mut self, step: &FieldObservation) {
        let work = self.units.get(&step.unit).and_then(|memory| memory.work);
        self.remember(step, work);
    }

    fn push(&mut self, step: &FieldObservation, origin: Origin, found: Option<Content>) {
        let proof = (origin == Origin::Work).then_some(Proof::Stated);
        self.transitions.push(Transition { entry: step.entry, origin, found, left: step.left.clone(), proof });
    }

    fn work(&mut self, step: &FieldObservation, found: Option<Content>) {
        self.push(step, Origin::Work, found);
        self.remember(step, Some(self.transitions.len() - 1));
    }

    fn cannot_tell(&mut self, step: &FieldObservation, found: Option<Content>, doubt: Doubt) {
        let origin = if found.is_some() { Origin::CannotTell(doubt) } else { Origin::FirstKnown };
        self.push(step, origin, found);
        self.remember(step, None);
    }

    /// Lets the last transition leave something else; if it alters nothing any more it is none.
    fn amend(&mut self, step: &FieldObservation) {
        let others = self.transitions.len() > 1 || matches!(step.left, Content::Bits { .. });
        let mut work = self.units.get(&step.unit).and_then(|memory| memory.work);
        if let Some(last) = self.transitions.last_mut() {
            last.left = step.left.clone();
            if others && last.found.as_ref().is_some_and(|found| found.same(&step.left)) {
                self.transitions.pop();
                work = work.filter(|at| *at < self.transitions.len());
            }
        }
        self.remember(step, work);
    }

    /// Holds a reading against what the same unit held. `found` is what the field held before, on whatever unit.
    fn reading(&mut self, step: &FieldObservation, kind: HandKind, found: Option<Content>, around: &FieldContext<'_>) {
        let Some(found) = found else {
            self.push(step, Origin::FirstKnown, None);
            return self.remember(step, None);
        };
        let elsewhere = self.here.is_some_and(|here| here != step.unit);
        match self.units.get(&step.unit).cloned().filter(|_| elsewhere) {
            Some(memory) => self.returned(step, found, &memory),
            None => self.on_the_same_unit(step, kind, found, elsewhere, around),
        }
    }

    /// An earlier unit is back: it is held against what it held when it was last seen.
    fn returned(&mut self, step: &FieldObservation, found: Content, memory: &UnitMemory) {
        match (memory.content.compare(&step.left), step.doubt) {
            (Sameness::Different, Some(doubt)) => {
                self.push(step, Origin::CannotTell(doubt), Some(memory.content.clone()));
            }
            (Sameness::Same | Sameness::SaidDifferently(_), _) => {
                if let Some(work) = memory.work.and_then(|at| self.transitions.get_mut(at)) {
                    work.proof = Some(Proof::ReadBack(step.entry));
                }
                if !found.same(&step.left) {
                    self.push(step, Origin::AnotherHand(HandKind::UnitReturned), Some(found));
                }
            }
            // Work that was filed while another unit was known to be there may have been done on this one.
            (Sameness::Different, None)
                if found.same(&step.left)
                    && self.transitions.last().is_some_and(|last| last.proof == Some(Proof::Stated)) =>
            {
                self.push(step, Origin::CannotTell(Doubt::Unit), Some(memory.content.clone()));
            }
            (Sameness::Different, None) if memory.work.is_none() => {
                let origin = Origin::AnotherHand(HandKind::SettingsAltered);
                self.push(step, origin, Some(memory.content.clone()));
            }
            // Nobody has seen that the work held before the unit was taken out.
            (Sameness::Different, None) => {
                self.push(step, Origin::CannotTell(Doubt::Unit), Some(memory.content.clone()));
            }
            (Sameness::CannotTell(_), _) => {
                self.push(step, Origin::CannotTell(Doubt::Comparison), Some(memory.content.clone()));
            }
        }
        self.remember(step, None);
    }

    /// A reading contradicts the work before it if it is the first that gives the field since then, and if the module is
    /// still the same: what another unit or other software holds says nothing of the work. Work that was read back on the bus is
    /// not contradicted by what is read later.
    fn on_the_same_unit(
        &mut self,
        step: &FieldObservation,
        kind: HandKind,
        found: Content,
        other_unit: bool,
        around: &FieldContext<'_>,
    ) {
        let open = self.units.get(&step.unit).and_then(|memory| memory.work);
        let entry = step.entry;
        let origin = match (found.compare(&step.left), step.doubt) {
            (Sameness::Different, Some(doubt)) => Origin::CannotTell(doubt),
            (Sameness::Same | Sameness::SaidDifferently(_), _) => {
                if let Some(work) = open.and_then(|at| self.transitions.get_mut(at))
                    && around.chronology.is_before(work.entry, entry)
                {
                    work.proof = Some(Proof::ReadBack(entry));
                }
                return self.remember(step, None);
            }
            (Sameness::CannotTell(_), _) => Origin::CannotTell(Doubt::Comparison),
            (Sameness::Different, None) => match open.and_then(|at| self.transitions.get_mut(at)) {
                Some(work)
                    if kind == HandKind::SettingsAltered
                        && !other_unit
                        && work.left.same(&found)
                        && !(around.witnessed)(work.entry, &work.left) =>
                {
                    let of = work.entry;
                    if self.other_work_may_be_last(open, &step.left, around) {
                        Origin::CannotTell(Doubt::Order)
                    } else if (around.has_serial)(step.unit) && !(around.unit_known_at)(of) {
                        // Nobody saw which unit it was done on.
                        Origin::CannotTell(Doubt::Unit)
                    } else {
                        if let Some(work) = open.and_then(|at| self.transitions.get_mut(at)) {
                            work.proof = Some(Proof::Contradicted(entry));
                        }
                        Origin::Contradicts(of)
                    }
                }
                _ => Origin::AnotherHand(kind),
            },
        };
        self.push(step, origin, Some(found));
        self.remember(step, None);
    }

    /// Whether other work left what a reading shows, and may have been done after the work at `last`.
    fn other_work_may_be_last(&self, last: Option<usize>, shown: &Content, around: &FieldContext<'_>) -> bool {
        let Some(work) = last.and_then(|at| self.transitions.get(at)) else { return false };
        if around.chronology.is_as_filed() {
            return false;
        }
        let unordered =
            |other: &&Transition| other.origin == Origin::Work && !around.chronology.is_before(other.entry, work.entry);
        let others = self.transitions.iter().filter(|other| other.entry != work.entry).filter(unordered);
        others.into_iter().any(|other| !other.left.compare(shown).is_different())
    }
}
