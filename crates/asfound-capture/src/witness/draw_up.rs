//! What the logs show, held against the journal, and the entries that follow.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::{DefinitionSet, RecordDefinition};
use asfound_core::difference::Content;
use asfound_core::entry::{
    Acknowledgement, Author, Body, Effects, Entry, LogDigest, ReadingRole, Reason, RecordEffect, WireAnswer, WireWrite,
    WitnessBody, WorkBody,
};
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingPath, Vin};
use asfound_core::plan::restricted_systems;
use asfound_core::reading::{MissingItem, ReadingProblem, ReadingRemark};
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use thiserror::Error;
use time::{Duration, OffsetDateTime};

use super::clock::{Clock, find, milliseconds, tells_the_date};
use super::identity::VIN;
use super::readings::{Later, Side, Source, examined, was_read};
use super::told::{Told, WriteTold};
use super::works::works;
use super::{Heard, Placing};

/// On what terms entries are drawn up.
#[derive(Debug, Clone)]
pub struct Terms {
    /// Whether writes that the journal knows nothing of were the work of whoever files them.
    pub claimed: bool,
    /// When the logs began, where their clock was wrong or there is none.
    pub began: Option<OffsetDateTime>,
    /// The present moment.
    pub now: OffsetDateTime,
    /// Who files.
    pub author: Author,
    /// Why.
    pub why: Reason,
    /// With what the vehicle was read and written.
    pub tool: Option<String>,
    /// The odometer, in kilometres.
    pub odometer_km: Option<u32>,
    /// The acknowledgements of restricted systems.
    pub acknowledgements: Vec<Acknowledgement>,
}

/// What is asked: which logs, of which vehicle.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The logs.
    pub heard: &'a Heard,
    /// Which module is which.
    pub placing: &'a Placing,
    /// The journal.
    pub entries: &'a [Entry],
    /// The life of every field.
    pub history: &'a History,
    /// The definitions.
    pub definitions: &'a DefinitionSet,
    /// The terms.
    pub terms: &'a Terms,
}

/// Why nothing can be made of the logs.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WitnessError {
    /// A log is filed already.
    #[error("{name} is filed already, in entry {entry}: SHA-256 {sha256}")]
    FiledAlready {
        /// The name of the log.
        name: String,
        /// The entry.
        entry: EntryNumber,
        /// Its digest.
        sha256: LogDigest,
    },
    /// The same log is given twice.
    #[error("{0} and {1} are the same log")]
    Twice(String, String),
    /// The logs are of another vehicle.
    #[error("the vehicle in the logs says VIN {said}, the journal is about {known}")]
    OtherVin {
        /// What was read on the bus.
        said: Vin,
        /// The journal's vehicle.
        known: Vin,
    },
    /// The clock of the logs tells no date that can be right.
    #[error("the clock of the logs tells no date that can be right ({})", .0.map_or("none at all".to_owned(), |at| at.to_string()))]
    NoDate(Option<OffsetDateTime>),
    /// No module that is known by name has anything to tell.
    #[error("no module in the logs is known by name")]
    Nobody,
    /// A reading made of the logs cannot be filed.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Reading(Vec<ReadingProblem>),
}

/// Something in the logs that is not taken over into a reading or a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LeftOut {
    /// A later entry tells of the record.
    Later {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
        /// The entry.
        entry: EntryNumber,
    },
    /// It has another length than its definition says.
    Length {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
        /// Bytes in the log.
        found: usize,
        /// Bytes in the definition.
        expected: usize,
    },
}

/// Something that the logs do not tell. Writes are given by their place in [`WitnessBody::writes`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CannotTell {
    /// A write has no answer, and was not read back.
    WhetherWritten(usize),
    /// A write has no answer; it was read back.
    NotAnswered(usize),
    /// The request of a write is not in the logs.
    WhatWasWritten(usize),
    /// Something else was read back than was written.
    ReadBackOtherwise(usize),
    /// A write was accepted and not read back.
    NotReadBack(usize),
    /// What was there before a write was not read, and the journal does not know it.
    NotReadBefore(usize),
    /// Answers of a module whose requests are not in the logs.
    WithoutRequest(ModuleName, u64),
    /// Requests to a module without an answer in the logs.
    WithoutAnswer(ModuleName, u64),
    /// Answers with several records that cannot be told apart.
    NotToldApart(ModuleName, usize),
    /// Messages that did not get through.
    Broken(u64),
}

/// An entry that is drawn up.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnEntry {
    /// The number that it gets.
    pub number: EntryNumber,
    /// When it happened.
    pub happened: OffsetDateTime,
    /// What it holds.
    pub body: Body,
    /// What is worth saying of a reading.
    pub remarks: Vec<ReadingRemark>,
    /// What earlier readings had and this one lacks.
    pub missing: Vec<MissingItem>,
}

/// What the logs show, and the entries that follow.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// The entries in their order; the last is the witness.
    pub entries: Vec<DrawnEntry>,
    /// The witness.
    pub witness: WitnessBody,
    /// The clocks.
    pub clock: Clock,
    /// Writes that altered something and that the journal does not know, by their place in [`WitnessBody::writes`].
    pub open: Vec<usize>,
    /// What is not taken over.
    pub left_out: Vec<LeftOut>,
    /// What the logs do not tell.
    pub cannot_tell: Vec<CannotTell>,
    /// Restricted systems that claimed work touches.
    pub restricted: Vec<SafetyTag>,
}

/// Lengths of records that all definitions and everything that is known agree on: they help to tell several records in
/// one answer apart.
pub fn lengths(state: &State, definitions: &DefinitionSet) -> BTreeMap<u16, usize> {
    let known = state.modules.values().flat_map(|module| &module.records);
    let known = known.filter_map(|(record, known)| Some((record.identifier()?, known.bytes.len())));
    let defined = definitions.iter().flat_map(|definition| definition.records().values());
    let defined = defined.filter_map(|record| Some((record.name().identifier()?, RecordDefinition::length(record))));
    let mut lengths: BTreeMap<u16, Option<usize>> = BTreeMap::from([(VIN, Some(17))]);
    for (record, length) in known.chain(defined) {
        let agreed = lengths.entry(record).or_insert(Some(length));
        if *agreed != Some(length) {
            *agreed = None;
        }
    }
    lengths.into_iter().filter_map(|(record, length)| Some((record, length?))).collect()
}

/// Works out what the logs show and which entries follow: a reading as found, the changes, a reading as left, and the witness.
///
/// # Errors
/// When the logs are filed already or of another vehicle, or nothing can be made of them.
pub fn draw_up(asked: Asked<'_>) -> Result<Drawn, WitnessError> {
    let Asked { heard, placing, entries, history, definitions, terms } = asked;
    known_already(heard, entries)?;
    same_vehicle(heard, history.state())?;
    if placing.placed.is_empty() {
        return Err(WitnessError::Nobody);
    }
    let mut told = Told::of(heard, placing);
    let recorded = works(entries, history);
    let clock = clock(heard, &mut told, &recorded, history, definitions, terms)?;
    let at_hand = AtHand::new(entries, &told.writes, &clock);
    let first_write = told.writes.iter().find(|told| told.write.answer != WireAnswer::Refused).map(|told| told.number);
    let source = Source {
        heard,
        placing,
        told: &told,
        definitions,
        later: &at_hand,
        tool: terms.tool.as_deref(),
        odometer_km: terms.odometer_km,
        first_write,
    };
    let mut drawing = Drawing {
        state: history.state().clone(),
        entries: Vec::new(),
        left_out: Vec::new(),
        restricted: BTreeSet::new(),
        asked,
    };
    let only = if was_read(entries) { ReadingRole::Check } else { ReadingRole::AsFound };
    let role = if first_write.is_some() { ReadingRole::AsFound } else { only };
    drawing.reading(&source, (Side::Before, role), &at_hand.found)?;
    let mut writes: Vec<WireWrite> = told.writes.iter().map(|told| told.write.clone()).collect();
    let open = drawing.changes(&told.writes, &mut writes, &at_hand);
    let as_left = drawing.reading(&source, (Side::After, ReadingRole::AsLeft), &at_hand.found)?;
    for (place, write) in writes.iter_mut().enumerate() {
        let bytes_unknown = write.answer == WireAnswer::Accepted && write.written.is_none();
        if bytes_unknown || (open.contains(&place) && !terms.claimed) {
            write.shown_by = write.shown_by.or(as_left);
        }
    }
    let cannot_tell = cannot_tell(heard, placing, &writes, history.state());
    let witness = WitnessBody {
        journal_later_ms: clock.journal_later_ms,
        put_later_ms: clock.put_later_ms,
        filed: drawing.entries.iter().map(|drawn| drawn.number).collect(),
        logs: heard.logs.clone(),
        modules: modules(heard, placing),
        writes,
        actions: told.actions.clone(),
    };
    let last = heard.logs.iter().filter_map(|log| log.last).max();
    drawing.entry(told.shifted(last), Body::Witness(witness.clone()), Vec::new(), Vec::new());
    let Drawing { entries, left_out, restricted, .. } = drawing;
    let open = if terms.claimed { Vec::new() } else { open };
    let restricted = restricted.into_iter().collect();
    Ok(Drawn { entries, witness, clock, open, left_out, cannot_tell, restricted })
}

fn known_already(heard: &Heard, entries: &[Entry]) -> Result<(), WitnessError> {
    for (place, log) in heard.logs.iter().enumerate() {
        if let Some(same) = heard.logs[..place].iter().find(|other| other.sha256 == log.sha256) {
            return Err(WitnessError::Twice(same.name.clone(), log.name.clone()));
        }
        let filed = entries.iter().find(|entry| match &entry.body {
            Body::Witness(witness) => witness.logs.iter().any(|filed| filed.sha256 == log.sha256),
            _ => false,
        });
        if let Some(entry) = filed {
            let (name, sha256) = (log.name.clone(), log.sha256.clone());
            return Err(WitnessError::FiledAlready { name, entry: entry.number, sha256 });
        }
    }
    Ok(())
}

fn same_vehicle(heard: &Heard, state: &State) -> Result<(), WitnessError> {
    let Some(known) = state.vehicle.as_ref().and_then(|vehicle| vehicle.vin.as_ref()) else { return Ok(()) };
    for module in &heard.modules {
        let read = module.timeline.records.get(&VIN).and_then(|vin| vin.first_read());
        let said = read.and_then(|bytes| std::str::from_utf8(bytes).ok()?.parse::<Vin>().ok());
        if let Some(said) = said.filter(|said| said != known) {
            return Err(WitnessError::OtherVin { said, known: known.clone() });
        }
    }
    Ok(())
}

/// Finds the journal's entries in the logs, and puts the logs' times where they belong.
fn clock(
    heard: &Heard,
    told: &mut Told,
    recorded: &[super::works::Work],
    history: &History,
    definitions: &DefinitionSet,
    terms: &Terms,
) -> Result<Clock, WitnessError> {
    let first = heard.logs.iter().filter_map(|log| log.first).min();
    let dated = first.is_some_and(|first| tells_the_date(first, terms.now));
    if let Some(began) = terms.began {
        let later = first.map_or(Duration::ZERO, |first| began - first);
        told.put_later(later, Some(began));
        let found = find(&mut told.writes, recorded, history, definitions, true);
        return Ok(Clock { put_later_ms: Some(milliseconds(later)), ..found });
    }
    let found = find(&mut told.writes, recorded, history, definitions, dated);
    if dated {
        return Ok(found);
    }
    // A clock that tells no date can be set by what the journal has.
    let later = found.journal_later_ms.ok_or(WitnessError::NoDate(first))?;
    told.put_later(Duration::milliseconds(later), None);
    Ok(Clock { journal_later_ms: Some(0), put_later_ms: Some(later), ..found })
}

fn modules(heard: &Heard, placing: &Placing) -> BTreeMap<ModuleName, Vec<asfound_core::entry::BusPlace>> {
    let mut modules: BTreeMap<ModuleName, Vec<_>> = BTreeMap::new();
    for placed in &placing.placed {
        modules.entry(placed.module.clone()).or_default().push(heard.modules[placed.heard].place());
    }
    modules
}

/// Where in the logs the work of an entry is found again, record by record: the last write.
type FoundAgain = BTreeMap<(EntryNumber, ModuleName, RecordName), u64>;

/// The journal beside the logs: what in it is later than a moment in them.
struct AtHand<'a> {
    entries: &'a [Entry],
    found: FoundAgain,
    /// By how much the journal's times may be too early against the logs'.
    early: Duration,
}

impl<'a> AtHand<'a> {
    fn new(entries: &'a [Entry], writes: &[WriteTold], clock: &Clock) -> Self {
        let mut found = BTreeMap::new();
        for told in writes {
            if let Some(entry) = told.write.entry {
                found.insert((entry, told.write.module.clone(), told.write.record.clone()), told.number);
            }
        }
        let early = clock.journal_later_ms.filter(|later| *later < 0).map_or(0, |later| -later);
        Self { entries, found, early: Duration::milliseconds(early) }
    }
}

fn tells_of(entry: &Entry, module: &ModuleName, record: Option<&RecordName>) -> bool {
    let covered = match &entry.body {
        Body::Reading(reading) => reading.covered.get(module),
        _ => None,
    };
    let Some(record) = record else { return covered.is_some_and(|covered| covered.trouble_codes.is_some()) };
    let effects = entry.body.effects().map_or(&[][..], |effects| &effects.records);
    covered.is_some_and(|covered| covered.records.contains(record) || covered.refused.contains(record))
        || effects.iter().any(|effect| effect.module == *module && effect.record == *record)
}

impl Later for AtHand<'_> {
    fn entry(
        &self,
        module: &ModuleName,
        record: Option<&RecordName>,
        (number, at): (u64, Option<OffsetDateTime>),
    ) -> Option<EntryNumber> {
        let later = self.entries.iter().find(|entry| {
            let place = record.map(|record| (entry.number, module.clone(), record.clone()));
            if let Some(write) = place.and_then(|place| self.found.get(&place)) {
                return *write > number;
            }
            let at = at.map(|at| at.truncate_to_second());
            at.is_some_and(|at| entry.happened + self.early >= at) && tells_of(entry, module, record)
        });
        later.map(|entry| entry.number)
    }
}

/// Entries that are being drawn up.
struct Drawing<'a> {
    asked: Asked<'a>,
    state: State,
    entries: Vec<DrawnEntry>,
    left_out: Vec<LeftOut>,
    restricted: BTreeSet<SafetyTag>,
}

impl Drawing<'_> {
    /// Adds an entry, and moves the state on by it.
    fn entry(
        &mut self,
        at: Option<OffsetDateTime>,
        body: Body,
        remarks: Vec<ReadingRemark>,
        missing: Vec<MissingItem>,
    ) -> Option<EntryNumber> {
        let terms = self.asked.terms;
        let number = self.state.last.map_or(Some(EntryNumber::FIRST), EntryNumber::next)?;
        // Entries keep whole seconds.
        let happened = at.unwrap_or(terms.now).to_offset(terms.now.offset()).truncate_to_second();
        let (recorded, author, why) = (terms.now, terms.author.clone(), terms.why.clone());
        let entry = Entry { number, recorded, happened, author, why, body };
        // What was worked out from the state follows from it.
        self.state.apply(&entry).ok()?;
        self.entries.push(DrawnEntry { number, happened, body: entry.body, remarks, missing });
        Some(number)
    }

    /// Notes what is not taken over: of one record once.
    fn left_out(&mut self, one: LeftOut) {
        let place = |one: &LeftOut| match one {
            LeftOut::Later { module, record, .. } | LeftOut::Length { module, record, .. } => {
                (module.clone(), record.clone())
            }
        };
        if !self.left_out.iter().any(|other| place(other) == place(&one)) {
            self.left_out.push(one);
        }
    }

    fn reading(
        &mut self,
        source: &Source<'_>,
        (side, role): (Side, ReadingRole),
        found: &FoundAgain,
    ) -> Result<Option<EntryNumber>, WitnessError> {
        let mut left_out = Vec::new();
        let taken = source.taken(side, &self.state, &mut left_out);
        // What work that is found again in the logs tells of later is what the logs tell themselves.
        let told_by_the_logs = |one: &LeftOut| match one {
            LeftOut::Later { module, record, entry } => found.contains_key(&(*entry, module.clone(), record.clone())),
            LeftOut::Length { .. } => false,
        };
        left_out.into_iter().filter(|one| !told_by_the_logs(one)).for_each(|one| self.left_out(one));
        let Some(taken) = taken else { return Ok(None) };
        let examined = examined(&taken, role, &self.state, self.asked.definitions).map_err(WitnessError::Reading)?;
        Ok(self.entry(taken.at, Body::Reading(examined.body), examined.remarks, examined.missing))
    }

    /// Goes through the writes: which of them altered something that the journal does not know. Where they are claimed,
    /// they become changes; one change holds what was written until a record is written again.
    fn changes(&mut self, told: &[WriteTold], writes: &mut [WireWrite], at_hand: &AtHand<'_>) -> Vec<usize> {
        let mut open = Vec::new();
        let mut change: Vec<usize> = Vec::new();
        for (place, told) in told.iter().enumerate() {
            let write = &told.write;
            if !is_unknown(write) {
                continue;
            }
            let seen = (told.number, write.at);
            if let Some(entry) = at_hand.entry(&write.module, Some(&write.record), seen) {
                let later = at_hand.entries.iter().find(|one| one.number == entry);
                let shows = later.filter(|one| matches!(one.body, Body::Reading(_)));
                writes[place].shown_by = shows.map(|one| one.number);
                if shows.is_none() {
                    let (module, record) = (write.module.clone(), write.record.clone());
                    let left_out = LeftOut::Later { module, record, entry };
                    self.left_out(left_out);
                }
                continue;
            }
            // Where it was not read before, the journal says whether it altered anything.
            let known = self.state.record(&write.module, &write.record).map(|known| &known.bytes);
            if write.found.is_none() && known == write.written.as_ref() {
                continue;
            }
            open.push(place);
            if !self.asked.terms.claimed {
                continue;
            }
            if change.iter().any(|other| same_record(&writes[*other], write)) {
                self.change(&std::mem::take(&mut change), writes);
            }
            change.push(place);
        }
        self.change(&change, writes);
        open
    }

    fn change(&mut self, places: &[usize], writes: &mut [WireWrite]) {
        let Some(first) = places.first() else { return };
        let terms = self.asked.terms;
        let mut work = WorkBody::default();
        let mut settings: BTreeSet<SettingPath> = BTreeSet::new();
        let mut restricted = BTreeSet::new();
        for place in places {
            let write = &writes[*place];
            let Some(left) = write.written.clone() else { continue };
            let (module, record) = (&write.module, &write.record);
            let found = self.state.record(module, record).map(|known| known.bytes.clone());
            if found.as_ref() == Some(&left) {
                continue;
            }
            let identity = self.state.identity(module);
            let definition = self.asked.definitions.fitting(module, &identity).ok().flatten();
            for setting in definition.into_iter().flat_map(|definition| definition.settings_in(record)) {
                let Some(id) = definition.map(asfound_core::definition::Definition::id) else { continue };
                let content = |bytes: &asfound_core::value::HexBytes| Content::decoded(setting, id, bytes.as_slice());
                let same = found.as_ref().and_then(content).zip(content(&left)).is_some_and(|(a, b)| a.same(&b));
                if !same {
                    settings.insert(setting.path().clone());
                }
            }
            restricted.extend(restricted_systems(module, definition, record, found.as_ref(), &left));
            work.one_way |= found.is_none();
            work.effects.records.push(RecordEffect { module: module.clone(), record: record.clone(), found, left });
        }
        if work.effects == Effects::default() {
            return;
        }
        work.effects.records.sort_by(|a, b| (&a.module, &a.record).cmp(&(&b.module, &b.record)));
        work.settings = settings.into_iter().collect();
        let given = terms.acknowledgements.iter().filter(|given| restricted.contains(&given.tag));
        work.acknowledgements = given.cloned().collect();
        self.restricted.extend(restricted);
        let number = self.entry(writes[*first].at, Body::Change(work), Vec::new(), Vec::new());
        for place in places {
            writes[*place].entry = number;
        }
    }
}

fn same_record(a: &WireWrite, b: &WireWrite) -> bool {
    (&a.module, &a.record) == (&b.module, &b.record)
}

/// Whether a write was made, as far as the logs tell, with bytes that are known, and no entry recorded it.
fn is_unknown(write: &WireWrite) -> bool {
    let made = match write.answer {
        WireAnswer::Accepted => true,
        WireAnswer::None => write.read_back_agrees() == Some(true),
        WireAnswer::Refused => false,
    };
    made && write.entry.is_none() && write.written.is_some() && write.found != write.written
}

fn cannot_tell(heard: &Heard, placing: &Placing, writes: &[WireWrite], state: &State) -> Vec<CannotTell> {
    let mut list = Vec::new();
    for (place, write) in writes.iter().enumerate() {
        let known = || state.record(&write.module, &write.record).is_some();
        if write.answer == WireAnswer::Refused {
            continue;
        }
        match (write.answer, write.read_back_agrees()) {
            _ if write.written.is_none() => list.push(CannotTell::WhatWasWritten(place)),
            (_, Some(false)) => list.push(CannotTell::ReadBackOtherwise(place)),
            (WireAnswer::None, None) => list.push(CannotTell::WhetherWritten(place)),
            (WireAnswer::None, Some(true)) => list.push(CannotTell::NotAnswered(place)),
            (_, None) => list.push(CannotTell::NotReadBack(place)),
            (_, Some(true)) => {}
        }
        let first = !writes[..place].iter().any(|other| same_record(other, write));
        if first && write.found.is_none() && !known() {
            list.push(CannotTell::NotReadBefore(place));
        }
    }
    for placed in &placing.placed {
        let timeline = &heard.modules[placed.heard].timeline;
        let module = || placed.module.clone();
        if timeline.without_request > 0 {
            list.push(CannotTell::WithoutRequest(module(), timeline.without_request));
        }
        if timeline.without_answer > 0 {
            list.push(CannotTell::WithoutAnswer(module(), timeline.without_answer));
        }
        if !timeline.unsplit.is_empty() {
            list.push(CannotTell::NotToldApart(module(), timeline.unsplit.len()));
        }
    }
    if heard.broken > 0 {
        list.push(CannotTell::Broken(heard.broken));
    }
    list
}
