//! The trial of every change and put-back.

use std::collections::{BTreeMap, BTreeSet};

use time::OffsetDateTime;

use super::work_time::driven_since;
use super::{Scans, WorkTime};
use crate::entry::{Body, Effects, Entry, ModuleCoverage, ReadingBody};
use crate::history::{Field, History, Origin, Transition};
use crate::names::{EntryNumber, ModuleName};
use crate::trouble_code::TroubleCode;

/// A trouble code that came after some work.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct NewCode {
    /// The module.
    pub module: ModuleName,
    /// The code.
    pub code: TroubleCode,
    /// The last reading that shows it.
    pub reading: EntryNumber,
    /// Whether its module was scanned before the work; if not, nobody can tell whether the code is older.
    pub scanned_before: bool,
}

/// What keeps a trial open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TrialBlocker {
    /// Altered modules of which some altered setting was not read after the vehicle was driven.
    pub unread: BTreeSet<ModuleName>,
    /// Altered modules that were not scanned for trouble codes after the vehicle was driven.
    pub unscanned: BTreeSet<ModuleName>,
    /// Codes that came since, in modules as last scanned.
    pub new_codes: Vec<NewCode>,
}

impl TrialBlocker {
    /// The modules that have to be read, scanned or looked at again.
    pub fn modules(&self) -> BTreeSet<&ModuleName> {
        let with_code = self.new_codes.iter().map(|new| &new.module);
        self.unread.iter().chain(&self.unscanned).chain(with_code).collect()
    }
}

/// How a trial stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TrialState {
    /// It is open.
    Open(TrialBlocker),
    /// It was closed by this reading: the work held.
    Held(EntryNumber),
    /// This reading shows something else than the work left.
    NotHeld(EntryNumber),
    /// Later work altered the same settings before the trial was closed.
    TakenOver(EntryNumber),
}

impl TrialState {
    /// Whether the trial is open.
    pub fn is_open(&self) -> bool {
        matches!(self, Self::Open(_))
    }
}

/// The trial of one entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trial {
    /// The change or put-back.
    pub entry: EntryNumber,
    /// How it stands.
    pub state: TrialState,
}

/// The trials of all changes and put-backs, in the order of the journal. Work that was never made, and work that
/// altered nothing, has none.
pub fn trials<'e>(entries: impl IntoIterator<Item = &'e Entry>, history: &History) -> Vec<Trial> {
    let mut all = TrialBuilder::default();
    entries.into_iter().for_each(|entry| all.push(entry));
    all.with(history).all().collect()
}

/// What of a journal's entries its trials follow from, taken in one entry after the other.
#[derive(Debug, Clone, Default)]
pub struct TrialBuilder {
    first: Option<WorkTime>,
    work: Vec<WorkTime>,
    /// The readings, with nothing but trouble codes, what modules became another unit, and in what situation they were taken.
    readings: Vec<Entry>,
}

impl TrialBuilder {
    /// Takes in the next entry.
    pub fn push(&mut self, entry: &Entry) {
        self.first.get_or_insert_with(|| entry.into());
        if entry.body.work().is_some() {
            self.work.push(entry.into());
        }
        if let Body::Reading(reading) = &entry.body {
            let scanned = |covered: &ModuleCoverage| ModuleCoverage {
                trouble_codes: covered.trouble_codes.clone(),
                ..ModuleCoverage::default()
            };
            let all = reading.covered.iter().filter(|(_, covered)| covered.trouble_codes.is_some());
            let covered = all.map(|(module, covered)| (module.clone(), scanned(covered))).collect();
            let effects = Effects { identities: reading.effects.identities.clone(), ..Effects::default() };
            let body = Body::Reading(ReadingBody { covered, effects, ..reading.clone() });
            self.readings.push(Entry { body, ..entry.clone() });
        }
    }

    /// The trials themselves; `history` is that of the same entries.
    pub fn with<'t>(&'t self, history: &'t History) -> JournalTrials<'t> {
        JournalTrials { work: &self.work, scans: self.scans(), history }
    }

    /// The readings, of which there is no more than their trials and codes follow from: nothing of what they cover but trouble
    /// codes, of their effects only what modules became.
    pub fn readings(&self) -> impl Iterator<Item = &Entry> {
        self.readings.iter()
    }

    /// The first entry.
    pub(crate) fn first(&self) -> Option<WorkTime> {
        self.first
    }

    /// The changes and put-backs.
    pub(crate) fn work(&self) -> &[WorkTime] {
        &self.work
    }

    /// The readings and their scans.
    pub(crate) fn scans(&self) -> Scans<'_> {
        Scans::of(&self.readings)
    }
}

/// The trials of a journal, each worked out when it is asked for.
pub struct JournalTrials<'t> {
    work: &'t [WorkTime],
    scans: Scans<'t>,
    history: &'t History,
}

impl JournalTrials<'_> {
    /// How the trial of an entry stands; nothing where it has none.
    pub fn of(&self, entry: EntryNumber) -> Option<TrialState> {
        let at = self.work.binary_search_by_key(&entry, |work| work.number).ok()?;
        let altered: Vec<AlteredField<'_>> = self.altered(entry).collect();
        (!altered.is_empty()).then(|| run(self.work[at], &altered, &self.scans))
    }

    /// The changes and put-backs and when each happened, in the order of the journal.
    pub fn work(&self) -> impl Iterator<Item = (EntryNumber, OffsetDateTime)> {
        self.work.iter().map(|work| (work.number, work.happened))
    }

    /// All trials, in the order of the journal.
    pub fn all(&self) -> impl Iterator<Item = Trial> {
        self.work.iter().filter_map(|work| Some(Trial { entry: work.number, state: self.of(work.number)? }))
    }

    fn altered(&self, entry: EntryNumber) -> impl Iterator<Item = AlteredField<'_>> {
        let work = self.history.transitions_of(entry).filter(|(_, step)| step.origin == Origin::Work);
        work.filter_map(move |(field, step)| {
            let steps = self.history.timeline(field)?.transitions();
            let at = steps.iter().position(|other| std::ptr::eq(other, step))?;
            let readings = self.history.readings_of(field);
            let here = |reading: &EntryNumber| {
                self.history.is_before(entry, *reading) && self.history.same_unit(field.module(), entry, *reading)
            };
            let readings = readings.filter(here).collect();
            Some(AlteredField { field, steps: &steps[at..], readings, history: self.history })
        })
    }
}

/// A field that an entry altered.
struct AlteredField<'h> {
    field: &'h Field,
    /// The alteration, and what happened to it since.
    steps: &'h [Transition],
    /// The readings since that gave it, of the same unit.
    readings: BTreeSet<EntryNumber>,
    history: &'h History,
}

impl AlteredField<'_> {
    /// Whether later work on the field comes before `entry`.
    fn taken_over_before(&self, entry: EntryNumber) -> bool {
        let place = self.history.place_of(entry);
        self.taken_over().is_some_and(|next| self.history.place_of(next) < place)
    }

    /// The later work on the field.
    fn taken_over(&self) -> Option<EntryNumber> {
        self.steps.iter().skip(1).find(|next| next.origin == Origin::Work).map(|next| next.entry)
    }

    /// Whether a reading shows what the work left.
    fn is_shown_by(&self, reading: EntryNumber) -> bool {
        let (Some(altered), Some(last)) = (self.steps.first(), self.last_at(reading)) else { return false };
        self.readings.contains(&reading) && (std::ptr::eq(altered, last) || altered.left.same(&last.left))
    }

    /// Whether a reading of the same unit shows something else.
    fn is_refuted_by(&self, reading: EntryNumber) -> bool {
        self.readings.contains(&reading)
            && self.steps.iter().skip(1).any(|step| {
                step.entry == reading && matches!(step.origin, Origin::AnotherHand(_) | Origin::Contradicts(_))
            })
            && !self.is_shown_by(reading)
    }

    /// What happened last to the unit that was altered, as of a reading.
    fn last_at(&self, reading: EntryNumber) -> Option<&Transition> {
        let (history, place) = (self.history, self.history.place_of(reading));
        let of_unit = |step: &&Transition| {
            history.place_of(step.entry) <= place && history.same_unit(self.field.module(), step.entry, reading)
        };
        self.steps.iter().rev().find(of_unit)
    }
}

fn run(work: WorkTime, altered: &[AlteredField<'_>], scans: &Scans<'_>) -> TrialState {
    let before = scans.before(work);
    let (mut shown, mut scanned) = (BTreeSet::new(), BTreeSet::new());
    let mut new_codes: BTreeMap<&ModuleName, Vec<NewCode>> = BTreeMap::new();
    for reading in scans.readings.iter().filter(|reading| work.moment.is_before(&reading.moment())) {
        let number = reading.number;
        let standing = || altered.iter().filter(|field| !field.taken_over_before(number));
        if standing().any(|field| field.is_refuted_by(number)) {
            return TrialState::NotHeld(number);
        }
        if !driven_since(work, reading, scans.readings.iter().copied()) {
            continue;
        }
        shown.extend(standing().filter(|field| field.is_shown_by(number)).map(|field| field.field));
        for (module, codes) in Scans::in_reading(reading) {
            scanned.insert(module);
            let earlier = before.get(module);
            let known = |code: &TroubleCode| earlier.is_some_and(|codes| codes.iter().any(|it| it.code == *code));
            let new = codes.iter().filter(|reported| !known(&reported.code)).map(|reported| NewCode {
                module: module.clone(),
                code: reported.code.clone(),
                reading: number,
                scanned_before: earlier.is_some(),
            });
            new_codes.insert(module, new.collect());
        }
        let holds = |field: &AlteredField<'_>| shown.contains(field.field) && scanned.contains(field.field.module());
        if standing().next().is_some() && standing().all(holds) && new_codes.values().all(Vec::is_empty) {
            return TrialState::Held(number);
        }
    }
    let left: Vec<&AlteredField<'_>> = altered.iter().filter(|field| field.taken_over().is_none()).collect();
    if left.is_empty() {
        let by = altered.iter().filter_map(AlteredField::taken_over).max();
        return TrialState::TakenOver(by.unwrap_or(work.number));
    }
    let modules = |open: &dyn Fn(&Field) -> bool| {
        left.iter().map(|field| field.field).filter(|field| open(field)).map(|field| field.module().clone()).collect()
    };
    TrialState::Open(TrialBlocker {
        unread: modules(&|field| !shown.contains(field)),
        unscanned: modules(&|field| !scanned.contains(field.module())),
        new_codes: new_codes.into_values().flatten().collect(),
    })
}
