//! What a module is asked, stage by stage.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::DefinitionSet;
use asfound_core::examination::{VIN_RECORD, identity_by_records, in_known_words};
use asfound_core::identity::Identity;
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::state::State;
use asfound_wire::conversation::ModuleAddress;

use super::survey::ModuleAnswers;
use crate::request::{CodesReport, ReadRequest, ReadSession};

/// What a module is (ISO 14229-1, annex C): part number, software version, hardware number, serial number, supplier's hardware version,
/// supplier's software version. Which definition fits follows from these.
const IDENTITY: [u16; 6] = [0xF187, 0xF189, 0xF191, 0xF18C, 0xF193, 0xF195];
/// What else it says of itself: software number, supplier, date of manufacture, supplier's hardware number, supplier's software number, system
/// name.
const DESCRIPTION: [u16; 6] = [0xF188, 0xF18A, 0xF18B, 0xF192, 0xF194, 0xF197];
/// After so many records comes one of the description. Many modules have none of it, and a refusal right after another costs a pause.
const BETWEEN: usize = 4;

/// Parameters of SAE J1979: engine speed, vehicle speed, supply voltage, odometer.
pub(super) const ENGINE_SPEED: u8 = 0x0C;
pub(super) const VEHICLE_SPEED: u8 = 0x0D;
pub(super) const SUPPLY_VOLTAGE: u8 = 0x42;
pub(super) const ODOMETER: u8 = 0xA6;

/// Which trouble codes are wanted, and what with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CodesWanted {
    /// The status bits of which a code must have one.
    pub mask: u8,
    /// The snapshots of each code.
    pub snapshots: bool,
    /// The extended data of each code.
    pub extended: bool,
}

impl CodesWanted {
    /// All status bits but the two that say only that a test has not run (bits 4 and 6, ISO 14229-1): a module that was cleared
    /// lists all the codes that it has under those.
    pub const MASK: u8 = 0xAF;
}

/// What is wanted of every module.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Its trouble codes.
    pub codes: Option<CodesWanted>,
    /// That it goes into the extended session before, and back into the default one after.
    pub extended_session: bool,
}

impl Default for Wanted {
    fn default() -> Self {
        let codes = CodesWanted { mask: CodesWanted::MASK, snapshots: false, extended: false };
        Self { codes: Some(codes), extended_session: false }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Stage {
    Description,
    Records,
    Lengths,
    Codes,
    Details,
    Over,
}

/// What the modules of a car are asked, stage by stage.
#[derive(Debug)]
pub struct Script<'a> {
    state: &'a State,
    definitions: &'a DefinitionSet,
    names: &'a BTreeMap<ModuleAddress, ModuleName>,
    wanted: Wanted,
    stages: BTreeMap<ModuleAddress, Stage>,
}

impl<'a> Script<'a> {
    /// What is asked of every module before anything else: whose car it is, and whether it is driven.
    pub const OPENING: [ReadRequest; 2] = [ReadRequest::Record(VIN_RECORD), ReadRequest::Current(VEHICLE_SPEED)];

    /// The script for modules of these names.
    pub const fn new(
        state: &'a State,
        definitions: &'a DefinitionSet,
        names: &'a BTreeMap<ModuleAddress, ModuleName>,
        wanted: Wanted,
    ) -> Self {
        Self { state, definitions, names, wanted, stages: BTreeMap::new() }
    }

    /// What a module is asked after the opening, to begin with.
    pub fn first(&self, opening: &ModuleAnswers) -> Vec<ReadRequest> {
        let mut requests = Vec::new();
        if self.wanted.extended_session {
            requests.push(ReadRequest::Session(ReadSession::Extended));
        }
        requests.extend(IDENTITY.map(ReadRequest::Record));
        if opening.answer(ReadRequest::Current(VEHICLE_SPEED)).is_some() {
            requests.extend([ENGINE_SPEED, SUPPLY_VOLTAGE, ODOMETER].map(ReadRequest::Current));
        }
        requests
    }

    /// What a module is asked next, once it has answered or failed to answer everything until now.
    pub fn next(&mut self, module: ModuleAddress, answers: &ModuleAnswers) -> Vec<ReadRequest> {
        loop {
            let stage = self.stages.entry(module).or_insert(Stage::Description);
            let (next, requests) = match *stage {
                Stage::Description => (Stage::Records, self.records(module, answers)),
                Stage::Records => (Stage::Lengths, self.of_wrong_length(module, answers)),
                Stage::Lengths => (Stage::Codes, self.codes()),
                Stage::Codes => (Stage::Details, self.details(answers)),
                Stage::Details => (Stage::Over, back(answers)),
                Stage::Over => return Vec::new(),
            };
            self.stages.insert(module, next);
            if !requests.is_empty() {
                return requests;
            }
        }
    }

    fn records(&self, module: ModuleAddress, answers: &ModuleAnswers) -> Vec<ReadRequest> {
        let asked: BTreeSet<ReadRequest> = answers.asked.iter().map(|asked| asked.request).collect();
        let wanted = self.names.get(&module).into_iter().flat_map(|name| self.wanted_records(name, answers));
        let wanted: BTreeSet<u16> = wanted.filter_map(|record| record.identifier()).collect();
        let mut description = DESCRIPTION.into_iter().filter(|identifier| !wanted.contains(identifier));
        let mut identifiers = Vec::new();
        let records: Vec<u16> = wanted.iter().copied().collect();
        for some in records.chunks(BETWEEN) {
            identifiers.extend(some);
            identifiers.extend(description.next());
        }
        identifiers.extend(description);
        identifiers.into_iter().map(ReadRequest::Record).filter(|request| !asked.contains(request)).collect()
    }

    /// All records that the definition names and that earlier readings had, or were refused.
    pub(super) fn wanted_records(&self, name: &ModuleName, answers: &ModuleAnswers) -> BTreeSet<RecordName> {
        let mut wanted = BTreeSet::new();
        if let Some(known) = self.state.module(name) {
            wanted.extend(known.records.keys().cloned());
            wanted.extend(known.refused.iter().cloned());
        }
        let identity = self.state.identity(name).updated_by(&self.identity(name, answers));
        if let Ok(Some(definition)) = self.definitions.fitting(name, &identity) {
            wanted.extend(definition.records().keys().cloned());
        }
        wanted
    }

    /// What the module is, in the journal's words.
    pub(super) fn identity(&self, name: &ModuleName, answers: &ModuleAnswers) -> Identity {
        let said = identity_by_records(|identifier| answers.record(identifier).map(<[u8]>::to_vec));
        in_known_words(said, self.state.module(name))
    }

    /// How long a record is by the definition that fits.
    pub(super) fn length(&self, name: &ModuleName, answers: &ModuleAnswers, record: &RecordName) -> Option<usize> {
        let identity = self.state.identity(name).updated_by(&self.identity(name, answers));
        let definition = self.definitions.fitting(name, &identity).ok().flatten()?;
        definition.record(record).map(asfound_core::definition::RecordDefinition::length)
    }

    /// Records that came with another length than the definition says are read once more: the answer may have been damaged.
    fn of_wrong_length(&self, module: ModuleAddress, answers: &ModuleAnswers) -> Vec<ReadRequest> {
        let Some(name) = self.names.get(&module) else { return Vec::new() };
        let wrong = answers.asked.iter().filter_map(|asked| {
            let ReadRequest::Record(identifier) = asked.request else { return None };
            let bytes = answers.record(identifier)?;
            let length = self.length(name, answers, &RecordName::Identifier(identifier))?;
            (length != bytes.len()).then_some(asked.request)
        });
        wrong.collect()
    }

    fn codes(&self) -> Vec<ReadRequest> {
        let wanted = self.wanted.codes.into_iter();
        wanted
            .flat_map(|CodesWanted { mask, .. }| [CodesReport::Count { mask }, CodesReport::List { mask }])
            .map(ReadRequest::Codes)
            .collect()
    }

    fn details(&self, answers: &ModuleAnswers) -> Vec<ReadRequest> {
        let Some(wanted) = self.wanted.codes else { return Vec::new() };
        let list = ReadRequest::Codes(CodesReport::List { mask: wanted.mask });
        let codes = answers.answer(list).and_then(|bytes| bytes.get(3..)).unwrap_or_default();
        let mut requests = Vec::new();
        for [a, b, c, _] in codes.as_chunks::<4>().0 {
            let code = [*a, *b, *c];
            requests.extend(wanted.snapshots.then_some(ReadRequest::Codes(CodesReport::Snapshots { code })));
            requests.extend(wanted.extended.then_some(ReadRequest::Codes(CodesReport::Extended { code })));
        }
        requests
    }

    /// What is wanted of every module.
    pub(super) const fn wanted(&self) -> Wanted {
        self.wanted
    }

    /// The modules by their addresses.
    pub(super) const fn names(&self) -> &'a BTreeMap<ModuleAddress, ModuleName> {
        self.names
    }

    /// What is known.
    pub(super) const fn state(&self) -> &'a State {
        self.state
    }
}

/// The way back into the default session, where the module went into the extended one.
fn back(answers: &ModuleAnswers) -> Vec<ReadRequest> {
    let extended = answers.answer(ReadRequest::Session(ReadSession::Extended)).is_some();
    extended.then_some(ReadRequest::Session(ReadSession::Default)).into_iter().collect()
}
