//! What the logs show, held against the journal, and the entries that follow.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::{DefinitionSet, RecordDefinition};
use asfound_core::entry::{
    Acknowledgement, Author, Body, BusLogBody, BusPlace, Entry, LogDigest, ReadingRole, Reason, WireAnswer, WireWrite,
};
use asfound_core::examination::{MissingItem, ReadingProblem, ReadingRemark};
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, Vin};
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use thiserror::Error;
use time::{Duration, OffsetDateTime};

use super::cannot_tell::{CannotTell, cannot_tell};
use super::clock::{Clock, find, milliseconds, tells_the_date};
use super::draft_builder::{DraftBuilder, repeats};
use super::identity::VIN;
use super::journal_after::JournalAfter;
use super::logged::LoggedEvents;
use super::readings::{ReadingSource, WhichReading, was_read};
use super::recorded_work::{RecordedWork, works};
use super::tester::{TesterWrites, testers};
use super::{BusSummary, ModuleIdentification};

/// On what terms entries are drawn up.
#[derive(Debug, Clone)]
pub struct DraftTerms {
    /// Whether writes that the journal knows nothing of were the work of whoever files them: those of one tester.
    pub claimed: bool,
    /// Where the testers asked whose writes are claimed; empty where one alone wrote, or the one whose work the journal has.
    pub testers: Vec<String>,
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
pub struct LogRequest<'a> {
    /// The logs.
    pub heard: &'a BusSummary,
    /// Which module is which.
    pub placing: &'a ModuleIdentification,
    /// The journal.
    pub entries: &'a [Entry],
    /// The life of every field.
    pub history: &'a History,
    /// The definitions.
    pub definitions: &'a DefinitionSet,
    /// The terms.
    pub terms: &'a DraftTerms,
}

/// Why nothing can be made of the logs.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LogDraftError {
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
    /// No tester asked there and wrote something.
    #[error("no tester wrote from `{said}` (those that did: {})", .there.join("; "))]
    NoTester {
        /// What somebody says.
        said: String,
        /// Those that wrote.
        there: Vec<String>,
    },
    /// Somebody else wrote a record between own writes, and nobody read it in between.
    #[error("{module} record {record}: another tester wrote it between your writes, and nobody read it there")]
    Between {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
    },
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

/// An entry that is drawn up.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftEntry {
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
pub struct LogDrafts {
    /// The entries in their order; the last is the witness.
    pub entries: Vec<DraftEntry>,
    /// The witness.
    pub witness: BusLogBody,
    /// The clocks.
    pub clock: Clock,
    /// Writes that may have altered something, that the journal does not know and nobody claims, by their place in
    /// [`BusLogBody::writes`].
    pub open: Vec<usize>,
    /// Who wrote, tester by tester.
    pub testers: Vec<TesterWrites>,
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
pub fn draw_up(asked: LogRequest<'_>) -> Result<LogDrafts, LogDraftError> {
    let LogRequest { heard, placing, entries, history, definitions, terms } = asked;
    known_already(heard, entries)?;
    same_vehicle(heard, history.state())?;
    if placing.placed.is_empty() {
        return Err(LogDraftError::Nobody);
    }
    let mut told = LoggedEvents::of(heard, placing);
    let recorded = works(entries, history);
    let clock = clock(heard, &mut told, &recorded, history, definitions, terms)?;
    let mut writes: Vec<WireWrite> = told.writes.iter().map(|told| told.write.clone()).collect();
    repeats(&told.writes, &mut writes);
    for (told, write) in told.writes.iter_mut().zip(&writes) {
        told.write.entry = write.entry;
    }
    let testers = testers(&told.writes);
    let claimed = claimed(&testers, &writes, terms)?;
    let at_hand = JournalAfter::new(entries, &told.writes, &clock);
    let first_write = told.writes.iter().find(|told| told.write.answer != WireAnswer::Refused).map(|told| told.number);
    let source = ReadingSource {
        heard,
        placing,
        told: &told,
        definitions,
        later: &at_hand,
        tool: terms.tool.as_deref(),
        odometer_km: terms.odometer_km,
        first_write,
    };
    let mut drawing = DraftBuilder {
        state: history.state().clone(),
        entries: Vec::new(),
        left_out: Vec::new(),
        restricted: BTreeSet::new(),
        asked,
    };
    let only = if was_read(entries) { ReadingRole::Check } else { ReadingRole::AsFound };
    let role = if first_write.is_some() { ReadingRole::AsFound } else { only };
    drawing.reading(&source, (WhichReading::Before, role), &at_hand.found)?;
    let open = drawing.changes(&told.writes, &mut writes, &at_hand, &claimed)?;
    repeats(&told.writes, &mut writes);
    let as_left = drawing.reading(&source, (WhichReading::After, ReadingRole::AsLeft), &at_hand.found)?;
    for (place, write) in writes.iter_mut().enumerate() {
        if open.contains(&place) {
            write.shown_by = write.shown_by.or(as_left);
        }
    }
    let cannot_tell = cannot_tell(heard, placing, &writes, history.state());
    let witness = BusLogBody {
        journal_later_ms: clock.journal_later_ms,
        put_later_ms: clock.put_later_ms,
        filed: drawing.entries.iter().map(|drawn| drawn.number).collect(),
        logs: heard.logs.clone(),
        modules: modules(heard, placing),
        writes,
        actions: told.actions.clone(),
        moved: told.moved.clone(),
    };
    let last = heard.logs.iter().filter_map(|log| log.last).max();
    drawing.entry(told.shifted(last), Body::Witness(witness.clone()), Vec::new(), Vec::new());
    let DraftBuilder { entries, left_out, restricted, .. } = drawing;
    let restricted = restricted.into_iter().collect();
    Ok(LogDrafts { entries, witness, clock, open, testers, left_out, cannot_tell, restricted })
}

/// The writes that whoever files the logs claims: those of the testers that they name; where they name none, of the one tester that
/// wrote, or of the one whose work alone the journal has already.
fn claimed(
    testers: &[TesterWrites],
    writes: &[WireWrite],
    terms: &DraftTerms,
) -> Result<BTreeSet<usize>, LogDraftError> {
    for said in &terms.testers {
        if !testers.iter().any(|tester| tester.is(said)) {
            let there = testers.iter().map(|tester| tester.addresses.join(", ")).collect();
            return Err(LogDraftError::NoTester { said: said.clone(), there });
        }
    }
    if !terms.claimed {
        return Ok(BTreeSet::new());
    }
    let known = |tester: &&TesterWrites| tester.writes.iter().any(|place| writes[*place].entry.is_some());
    let named = |tester: &&TesterWrites| terms.testers.iter().any(|said| tester.is(said));
    let mine: Vec<&TesterWrites> = match (terms.testers.is_empty(), testers) {
        (false, _) => testers.iter().filter(named).collect(),
        (true, [only]) => vec![only],
        (true, _) => match testers.iter().filter(known).collect::<Vec<_>>().as_slice() {
            [only] => vec![*only],
            _ => Vec::new(),
        },
    };
    Ok(mine.into_iter().flat_map(|tester| tester.writes.iter().copied()).collect())
}

fn known_already(heard: &BusSummary, entries: &[Entry]) -> Result<(), LogDraftError> {
    for (place, log) in heard.logs.iter().enumerate() {
        if let Some(same) = heard.logs[..place].iter().find(|other| other.sha256 == log.sha256) {
            return Err(LogDraftError::Twice(same.name.clone(), log.name.clone()));
        }
        let filed = entries.iter().find(|entry| match &entry.body {
            Body::Witness(witness) => witness.logs.iter().any(|filed| filed.sha256 == log.sha256),
            _ => false,
        });
        if let Some(entry) = filed {
            let (name, sha256) = (log.name.clone(), log.sha256.clone());
            return Err(LogDraftError::FiledAlready { name, entry: entry.number, sha256 });
        }
    }
    Ok(())
}

fn same_vehicle(heard: &BusSummary, state: &State) -> Result<(), LogDraftError> {
    let Some(known) = state.vehicle.as_ref().and_then(|vehicle| vehicle.vin.as_ref()) else { return Ok(()) };
    for module in &heard.modules {
        let read = module.timeline.records.get(&VIN).and_then(|vin| vin.first_read());
        for bytes in read.into_iter().chain(module.timeline.vin_by_information()) {
            let said = std::str::from_utf8(bytes).ok().and_then(|text| text.parse::<Vin>().ok());
            if let Some(said) = said.filter(|said| said != known) {
                return Err(LogDraftError::OtherVin { said, known: known.clone() });
            }
        }
    }
    Ok(())
}

/// Finds the journal's entries in the logs, and puts the logs' times where they belong.
fn clock(
    heard: &BusSummary,
    told: &mut LoggedEvents,
    recorded: &[RecordedWork],
    history: &History,
    definitions: &DefinitionSet,
    terms: &DraftTerms,
) -> Result<Clock, LogDraftError> {
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
    let later = found.journal_later_ms.ok_or(LogDraftError::NoDate(first))?;
    told.put_later(Duration::milliseconds(later), None);
    Ok(Clock { journal_later_ms: Some(0), put_later_ms: Some(later), ..found })
}

fn modules(heard: &BusSummary, placing: &ModuleIdentification) -> BTreeMap<ModuleName, Vec<BusPlace>> {
    let mut modules: BTreeMap<ModuleName, Vec<_>> = BTreeMap::new();
    for placed in &placing.placed {
        let here = &heard.modules[placed.heard];
        let places = modules.entry(placed.module.clone()).or_default();
        places.push(here.place());
        places.extend(here.other_places());
    }
    modules
}
