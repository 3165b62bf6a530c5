//! Makes the transitions of one field of what the entries tell of it, where they were not filed in the order in which they
//! happened: nothing is concluded from an order that is not certain.

use std::collections::{BTreeMap, BTreeSet};

use super::chain::{ContentSource, FieldContext, FieldObservation};
use super::{Doubt, HandKind, Origin, Proof, Timeline, Transition};
use crate::difference::Content;
use crate::entry::Moment;
use crate::names::EntryNumber;
use crate::sameness::Sameness;

/// What one entry tells of a field.
struct FieldStatement<'a> {
    entry: EntryNumber,
    moment: Moment,
    /// The unit that it tells of; nothing where that is not known.
    unit: Option<usize>,
    content: &'a Content,
    how: StatementKind<'a>,
}

enum StatementKind<'a> {
    /// A reading, with what another hand would be, and why nothing is concluded from a difference.
    Reading(HandKind, Option<Doubt>),
    /// Work, with what it found, and whether the unit is known only from a later reading.
    Work { step: &'a FieldObservation, unit_taken: bool },
    /// Work on a record that holds the field as well, and was not about it.
    Beside { found: Option<&'a Content> },
    /// A correction of an entry, with what that left instead.
    Correction { step: &'a FieldObservation, corrects: EntryNumber },
}

impl FieldStatement<'_> {
    fn is_before(&self, other: &Self) -> bool {
        self.moment.is_before(&other.moment)
    }

    fn is_ordered_with(&self, other: &Self) -> bool {
        self.is_before(other) || other.is_before(self)
    }

    fn is_reading(&self) -> bool {
        matches!(self.how, StatementKind::Reading(..))
    }

    fn is_beside(&self) -> bool {
        matches!(self.how, StatementKind::Beside { .. })
    }

    fn found(&self) -> Option<&Content> {
        match &self.how {
            StatementKind::Reading(..) => None,
            StatementKind::Work { step, .. } | StatementKind::Correction { step, .. } => {
                step.told.as_ref().or(step.found.as_ref())
            }
            StatementKind::Beside { found } => *found,
        }
    }
}

/// The transitions of one field, from what the entries tell in the order of their moments.
pub(super) fn settle_by_time(steps: &[FieldObservation], around: &FieldContext<'_>) -> Timeline {
    let mut life = FieldStatements::new(around);
    let mut readings = around.readings.iter().copied().peekable();
    let mut held: Option<&Content> = steps.first().and_then(|step| step.found.as_ref()).filter(|found| found.is_bits());
    let mut doubt = None;
    for step in steps {
        while let Some(reading) = readings.next_if(|reading| *reading < step.entry) {
            held.into_iter().for_each(|content| life.reading(reading, content, HandKind::SettingsAltered, doubt));
        }
        let is_reading = readings.next_if_eq(&step.entry).is_some();
        match step.source {
            ContentSource::Reading(kind) if is_reading => life.reading(step.entry, &step.left, kind, step.doubt),
            // Work shows what stands beside what it was about.
            ContentSource::Reading(_) => life.beside(step),
            ContentSource::Work if around.corrections.never_made(step.entry) => {}
            ContentSource::Work => life.work(step),
            ContentSource::Correction(corrects) if around.corrections.never_made(corrects) => {}
            ContentSource::Correction(corrects) => life.correction(step, corrects),
        }
        (held, doubt) = (Some(&step.left), step.doubt);
    }
    for reading in readings {
        held.into_iter().for_each(|content| life.reading(reading, content, HandKind::SettingsAltered, doubt));
    }
    (0..life.tellings.len()).for_each(|at| life.follow(at));
    life.end(steps)
}

struct FieldStatements<'a, 'b> {
    around: &'b FieldContext<'b>,
    tellings: Vec<FieldStatement<'a>>,
    transitions: Vec<Transition>,
    /// Where the transition of each telling is, if it has one.
    transition_of: BTreeMap<usize, usize>,
    /// The telling of what the field holds.
    running: Option<usize>,
    /// The unit of the last reading.
    here: Option<usize>,
    /// Units of which something is known.
    known: BTreeSet<usize>,
}

impl<'a, 'b> FieldStatements<'a, 'b> {
    fn new(around: &'b FieldContext<'b>) -> Self {
        Self {
            around,
            tellings: Vec::new(),
            transitions: Vec::new(),
            transition_of: BTreeMap::new(),
            running: None,
            here: None,
            known: BTreeSet::new(),
        }
    }

    fn tell(&mut self, entry: EntryNumber, unit: Option<usize>, content: &'a Content, how: StatementKind<'a>) {
        if let Some(moment) = self.around.chronology.of(entry) {
            self.tellings.push(FieldStatement { entry, moment, unit, content, how });
        }
    }

    fn reading(&mut self, entry: EntryNumber, content: &'a Content, kind: HandKind, doubt: Option<Doubt>) {
        let unit = (self.around.unit_at)(entry);
        self.tell(entry, Some(unit), content, StatementKind::Reading(kind, doubt));
    }

    fn work(&mut self, step: &'a FieldObservation) {
        if step.told.as_ref().is_some_and(|told| told.same(&step.left)) {
            return self.beside(step);
        }
        let (unit, unit_taken) = self.unit_of_work(step.entry);
        self.tell(step.entry, unit, &step.left, StatementKind::Work { step, unit_taken });
    }

    fn beside(&mut self, step: &'a FieldObservation) {
        let (unit, _) = self.unit_of_work(step.entry);
        self.tell(step.entry, unit, &step.left, StatementKind::Beside { found: step.told.as_ref() });
    }

    fn correction(&mut self, step: &'a FieldObservation, corrects: EntryNumber) {
        let (unit, _) = self.unit_of_work(step.entry);
        self.tell(step.entry, unit, &step.left, StatementKind::Correction { step, corrects });
    }

    /// Follows what becomes of the field by one telling.
    fn follow(&mut self, at: usize) {
        let (unit, content) = (self.tellings[at].unit, self.tellings[at].content);
        match self.tellings[at].how {
            StatementKind::Reading(kind, _) => unit.into_iter().for_each(|unit| self.read(at, unit, content, kind)),
            StatementKind::Work { step, .. } => self.worked(at, step),
            StatementKind::Correction { step, corrects } => {
                if !self.amended(at, step, corrects) {
                    self.worked(at, step);
                }
            }
            StatementKind::Beside { .. } if self.running.is_none() => self.first_known(at),
            StatementKind::Beside { .. } => {}
        }
    }

    fn held(&self) -> Option<&'a Content> {
        self.running.map(|at| self.tellings[at].content)
    }

    /// Adds a transition to what a telling says.
    fn push(&mut self, at: usize, origin: Origin, found: Option<Content>) {
        let FieldStatement { entry, content, .. } = self.tellings[at];
        let proof = (origin == Origin::Work).then_some(Proof::Stated);
        self.transition_of.insert(at, self.transitions.len());
        self.transitions.push(Transition { entry, origin, found, left: content.clone(), proof });
        self.running = Some(at);
    }

    /// A reading shows something else than the field held.
    fn shows(&mut self, at: usize, origin: Origin) {
        let found = self.held().cloned();
        self.push(at, origin, found);
    }

    fn first_known(&mut self, at: usize) {
        // The life of bits without a name begins when they are altered.
        if self.tellings[at].content.is_bits() {
            self.running = Some(at);
        } else {
            self.push(at, Origin::FirstKnown, None);
        }
    }

    fn worked(&mut self, at: usize, step: &FieldObservation) {
        let told = || step.told.clone().or_else(|| step.found.clone());
        let found = (self.around.told)(step.entry, &step.left).or_else(told);
        self.push(at, Origin::Work, found);
        self.known.extend(self.tellings[at].unit);
    }

    /// Lets the last transition leave something else, where a correction is of its entry; if it alters nothing any more it is none.
    fn amended(&mut self, at: usize, step: &FieldObservation, corrects: EntryNumber) -> bool {
        let Some(last) = self.transitions.last_mut().filter(|last| last.entry == corrects) else { return false };
        last.left = step.left.clone();
        let nothing = last.found.as_ref().is_some_and(|found| found.same(&step.left));
        if nothing && (self.transitions.len() > 1 || step.left.is_bits()) {
            self.transitions.pop();
        }
        self.running = Some(at);
        true
    }

    /// The unit that work was done on: the one that the last readings before it show. Where readings that are not ordered
    /// with it show another one, nobody knows. Before all readings it is taken to be the one that was read first, which may
    /// read the work back and cannot contradict it.
    fn unit_of_work(&self, work: EntryNumber) -> (Option<usize>, bool) {
        let (order, seen) = (self.around.chronology, self.around.module_readings);
        let before: Vec<&(EntryNumber, usize)> = seen.iter().filter(|(of, _)| order.is_before(*of, work)).collect();
        let last = before
            .iter()
            .enumerate()
            .filter(|(at, one)| !before[at + 1..].iter().any(|other| order.is_before(one.0, other.0)));
        let mut units: BTreeSet<usize> = last.map(|(_, one)| one.1).collect();
        let loose = seen.iter().filter(|(of, _)| !order.is_before(*of, work) && !order.is_before(work, *of));
        units.extend(loose.map(|(_, unit)| *unit));
        if units.is_empty() {
            let first = |one: &&(EntryNumber, usize)| !seen.iter().any(|other| order.is_before(other.0, one.0));
            units.extend(seen.iter().filter(first).map(|(_, unit)| *unit));
        }
        let unit = units.first().copied().unwrap_or_default();
        let taken = before.is_empty() && (self.around.has_serial)(unit);
        ((units.len() < 2).then_some(unit), taken)
    }

    fn read(&mut self, at: usize, unit: usize, content: &Content, kind: HandKind) {
        let swapped = self.here.replace(unit).is_some_and(|here| here != unit);
        let same = self.held().is_some_and(|held| held.same(content));
        if !self.known.insert(unit) {
            let returned = swapped && self.was_away(at, unit);
            return self.of_known_unit(at, unit, kind, swapped, returned);
        }
        if self.running.is_none() {
            self.first_known(at);
        } else if same {
            self.still(at);
        } else if swapped {
            self.shows(at, Origin::AnotherHand(HandKind::UnitSwapped));
        } else if !self.may_fit(&self.loose_work(at, unit), content) {
            self.shows(at, Origin::CannotTell(Doubt::Unit));
        }
    }

    /// Whether another unit was certainly there between an earlier reading of this one and a reading.
    fn was_away(&self, reading: usize, unit: usize) -> bool {
        let (order, seen) = (self.around.chronology, self.around.module_readings);
        let entry = self.tellings[reading].entry;
        let between = |other: EntryNumber| {
            order.is_before(other, entry) && seen.iter().any(|(one, its)| *its == unit && order.is_before(*one, other))
        };
        seen.iter().any(|(other, its)| *its != unit && between(*other))
    }

    fn of_known_unit(&mut self, at: usize, unit: usize, kind: HandKind, swapped: bool, returned: bool) {
        let content = self.tellings[at].content;
        let same = self.held().is_some_and(|held| held.same(content));
        let last = self.last_before(at, unit);
        let fits: Vec<usize> = last.iter().copied().filter(|one| self.tellings[*one].content.same(content)).collect();
        self.read_back(&fits, self.tellings[at].entry);
        if same && returned && fits.is_empty() && !self.running.is_some_and(|held| self.tellings[held].is_reading()) {
            // Work that was filed while another unit was known to be there may have been done on this one.
            return self.shows(at, Origin::CannotTell(Doubt::Unit));
        }
        if same && (!returned || !fits.is_empty()) {
            return self.still(at);
        }
        let loose = self.loose_work(at, unit);
        if !fits.is_empty() {
            let by_order = self.running.is_some_and(|held| !self.tellings[held].is_ordered_with(&self.tellings[at]));
            if returned {
                self.shows(at, Origin::AnotherHand(HandKind::UnitReturned));
            } else if loose.is_empty() && !by_order && !swapped {
                // It fits after one of several that are not ordered.
                self.shows(at, Origin::CannotTell(Doubt::Order));
            }
            return;
        }
        if !loose.is_empty() {
            if !self.may_fit(&loose, content) {
                self.shows(at, Origin::CannotTell(Doubt::Order));
            }
            return;
        }
        if !self.shown_by_unordered(at, unit) {
            let origin = self.accused(at, &last, kind, returned);
            self.shows(at, origin);
        }
    }

    /// The field holds what it held; what tells of it is now the later of the two.
    fn still(&mut self, at: usize) {
        if self.running.is_some_and(|held| self.tellings[held].is_before(&self.tellings[at])) {
            self.running = Some(at);
        }
    }

    fn read_back(&mut self, fits: &[usize], by: EntryNumber) {
        for one in fits {
            if let Some(at) = self.transition_of.get(one)
                && let Some(Transition { proof: Some(proof @ Proof::Stated), .. }) = self.transitions.get_mut(*at)
            {
                *proof = Proof::ReadBack(by);
            }
        }
    }

    /// The last that is known of a unit at what is certainly before a reading: several where these are not ordered.
    fn last_before(&self, reading: usize, unit: usize) -> Vec<usize> {
        let of = &self.tellings[reading];
        let mut last: Vec<usize> = Vec::new();
        // The end of the earliest moment behind which nothing can be hidden.
        let mut floor: Option<Moment> = None;
        for at in (0..reading).rev() {
            let one = &self.tellings[at];
            if floor.is_some_and(|floor| one.moment.span().last() < floor.span().first()) {
                break;
            }
            let hidden = |by: &usize| !self.tellings[*by].is_beside() && one.is_before(&self.tellings[*by]);
            if one.unit != Some(unit) || !one.is_before(of) || last.iter().any(hidden) {
                continue;
            }
            if !one.is_beside() && floor.is_none() {
                floor = Some(one.moment);
            }
            last.push(at);
        }
        last
    }

    /// Work that is not ordered with a reading, or of which nobody knows on which unit it was done.
    fn loose_work(&self, reading: usize, unit: usize) -> Vec<usize> {
        let of = &self.tellings[reading];
        let is_loose = |one: &FieldStatement<'_>| match one.unit {
            Some(its) => its == unit && !one.is_ordered_with(of),
            None => !of.is_before(one),
        };
        (0..self.tellings.len())
            .filter(|at| !self.tellings[*at].is_reading() && is_loose(&self.tellings[*at]))
            .collect()
    }

    /// Whether a content may be what was there before or after one of these.
    fn may_fit(&self, loose: &[usize], content: &Content) -> bool {
        let may = |other: &Content| !other.compare(content).is_different();
        loose.iter().map(|at| &self.tellings[*at]).any(|one| may(one.content) || one.found().is_some_and(may))
    }

    /// Whether another reading shows the same that is not ordered with this one.
    fn shown_by_unordered(&self, reading: usize, unit: usize) -> bool {
        let of = &self.tellings[reading];
        let mut others = self.tellings[..reading]
            .iter()
            .rev()
            .take_while(|one| one.moment.span().last() >= of.moment.span().first());
        others.any(|one| {
            one.is_reading() && one.unit == Some(unit) && one.content.same(of.content) && !one.is_ordered_with(of)
        })
    }

    /// What a reading shows that fits nowhere.
    fn accused(&mut self, reading: usize, last: &[usize], kind: HandKind, returned: bool) -> Origin {
        let (entry, content) = (self.tellings[reading].entry, self.tellings[reading].content);
        if let StatementKind::Reading(_, Some(doubt)) = self.tellings[reading].how {
            return Origin::CannotTell(doubt);
        }
        let unclear = |one: &usize| matches!(self.tellings[*one].content.compare(content), Sameness::CannotTell(_));
        if last.iter().any(unclear) {
            return Origin::CannotTell(Doubt::Comparison);
        }
        let hand = if kind == HandKind::SoftwareUpdated { kind } else { HandKind::SettingsAltered };
        let active: Vec<usize> = last.iter().copied().filter(|one| !self.tellings[*one].is_beside()).collect();
        if !active.is_empty() && active.iter().all(|one| self.tellings[*one].is_reading()) {
            return Origin::AnotherHand(hand);
        }
        let [only] = active[..] else { return Origin::CannotTell(Doubt::Order) };
        let StatementKind::Work { unit_taken, .. } = self.tellings[only].how else {
            return Origin::CannotTell(Doubt::Order);
        };
        let work = self.tellings[only].entry;
        if (self.around.witnessed)(work, self.tellings[only].content) || hand == HandKind::SoftwareUpdated {
            return Origin::AnotherHand(hand);
        }
        if returned || unit_taken || self.was_out(only, reading) {
            return Origin::CannotTell(Doubt::Unit);
        }
        let transition = self.transition_of.get(&only).and_then(|at| self.transitions.get_mut(*at));
        match transition.and_then(|work| work.proof.as_mut()) {
            Some(proof @ Proof::Stated) => {
                *proof = Proof::Contradicted(entry);
                Origin::Contradicts(work)
            }
            // By whichever reading came first; the other shows another hand.
            _ => Origin::CannotTell(Doubt::Order),
        }
    }

    /// Whether a reading shows another unit between work and a reading, or may.
    fn was_out(&self, work: usize, reading: usize) -> bool {
        let (work, reading) = (&self.tellings[work], &self.tellings[reading]);
        let order = self.around.chronology;
        let mut others = self.around.module_readings.iter().filter(|(_, unit)| Some(*unit) != reading.unit);
        others.any(|(other, _)| !order.is_before(*other, work.entry) && !order.is_before(reading.entry, *other))
    }

    fn end(mut self, steps: &[FieldObservation]) -> Timeline {
        // A correction that leaves something else than what was there without the work tells of that as well.
        if let Some(FieldObservation { entry, source: ContentSource::Correction(corrects), left, .. }) = steps.last()
            && self.around.corrections.never_made(*corrects)
            && self.held().is_some_and(|held| !held.same(left))
        {
            let (found, proof) = (self.held().cloned(), Some(Proof::Stated));
            self.transitions.push(Transition { entry: *entry, origin: Origin::Work, found, left: left.clone(), proof });
        }
        Timeline::of(self.transitions)
    }
}
