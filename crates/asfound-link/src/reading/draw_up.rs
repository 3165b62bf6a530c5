//! The answers as a reading.

use std::collections::BTreeSet;

use asfound_core::examination::is_identity_record;
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::reading::{Address, ModuleReading, Reading};
use asfound_core::situation::{Engine, Ignition};
use asfound_core::trouble_code::{CodeFormat, CodeStatus, FreezeFrame, ReportedCode, TroubleCode};
use asfound_core::value::HexBytes;
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::service::Refusal;

use super::script::Script;
use super::survey::{ModuleAnswers, Survey};
use super::vehicle_data::{VehicleData, vehicle_data};
use crate::client::Outcome;
use crate::request::{CodesReport, ReadRequest, ReadSession};

/// A module said no.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Refused {
    /// The module.
    pub module: ModuleName,
    /// What it was asked.
    pub request: ReadRequest,
    /// Why.
    pub why: Refusal,
    /// Whether a definition or an earlier reading has what was asked for.
    pub expected: bool,
}

/// Why something is not in a reading.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum UnreadWhy {
    /// There was no answer to the point.
    NoAnswer(Outcome),
    /// It was not asked any more.
    NotAsked,
    /// The record has another length than its definition says, also when it was read once more.
    Length {
        /// As it came.
        found: usize,
        /// As the definition says.
        expected: usize,
    },
}

/// Something that is not in a reading.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unread {
    /// The module.
    pub module: ModuleName,
    /// What was asked.
    pub request: ReadRequest,
    /// Why.
    pub why: UnreadWhy,
}

/// A reading that was taken, and what is not in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenReading {
    /// The reading.
    pub reading: Reading,
    /// What modules said no to.
    pub refused: Vec<Refused>,
    /// What is not in the reading, and nobody said no to.
    pub unread: Vec<Unread>,
    /// Values of the whole vehicle.
    pub vehicle: VehicleData,
}

/// Makes a reading of the answers. It tells neither when nor of which vehicle.
pub fn draw_up(survey: &Survey, script: &Script<'_>) -> TakenReading {
    let vehicle = vehicle_data(survey.answers().map(|(_, answers)| answers));
    let mut taken =
        TakenReading { reading: Reading::default(), refused: Vec::new(), unread: Vec::new(), vehicle: vehicle.clone() };
    taken.reading.odometer_km = vehicle.odometer_km;
    taken.reading.supply_voltage = vehicle.supply_voltage;
    taken.reading.situation.engine =
        vehicle.engine_quarters.map(|quarters| if quarters > 0 { Engine::Running } else { Engine::Stopped });
    for (address, answers) in survey.answers() {
        let Some(name) = script.names().get(&address) else { continue };
        if answers.is_there() {
            // A module that answers has its supply switched on.
            taken.reading.situation.ignition = Some(Ignition::On);
            let mut module = Drawing { name, answers, script, taken: &mut taken }.module();
            module.address = Some(Address(number(address)));
            taken.reading.modules.insert(name.clone(), module);
        } else if !answers.asked.is_empty() {
            taken.reading.situation.did_not_answer.insert(name.clone());
        }
    }
    taken
}

/// The address as the journal writes it: on a CAN bus the identifier on which the module answers, and of normal fixed addressing the module's
/// own byte in it.
fn number(address: ModuleAddress) -> u32 {
    match address {
        ModuleAddress::Ip(address) => u32::from(address),
        ModuleAddress::Can(channel) => match channel.id.number() {
            fixed @ 0x18DA_F100..=0x18DA_F1FF if channel.id.is_extended() => fixed & 0xFF,
            id => id,
        },
    }
}

struct Drawing<'d, 's> {
    name: &'d ModuleName,
    answers: &'d ModuleAnswers,
    script: &'d Script<'s>,
    taken: &'d mut TakenReading,
}

impl Drawing<'_, '_> {
    fn module(&mut self) -> ModuleReading {
        let mut module =
            ModuleReading { identity: self.script.identity(self.name, self.answers), ..ModuleReading::default() };
        let expected = self.script.wanted_records(self.name, self.answers);
        let mut done = BTreeSet::new();
        // Where something was asked several times, the last time counts.
        for asked in self.answers.asked.iter().rev() {
            if !done.insert(asked.request) {
                continue;
            }
            match (asked.request, &asked.outcome) {
                (ReadRequest::Record(identifier), Outcome::Answered(_)) => {
                    self.record(identifier, &mut module);
                }
                (_, Outcome::Answered(_)) => {}
                (request, Outcome::Refused(why)) => {
                    let record = match request {
                        ReadRequest::Record(identifier) => Some(RecordName::Identifier(identifier)),
                        _ => None,
                    };
                    let record = record.filter(|record| expected.contains(record));
                    let refused = Refused { module: self.name.clone(), request, why: *why, expected: record.is_some() };
                    self.taken.refused.push(refused);
                    module.refused.extend(record);
                }
                (request, outcome) => self.unread(request, UnreadWhy::NoAnswer(outcome.clone())),
            }
        }
        for request in &self.answers.left {
            if *request != ReadRequest::Session(ReadSession::Default) && done.insert(*request) {
                self.unread(*request, UnreadWhy::NotAsked);
            }
        }
        self.codes(&mut module);
        module
    }

    fn unread(&mut self, request: ReadRequest, why: UnreadWhy) {
        self.taken.unread.push(Unread { module: self.name.clone(), request, why });
    }

    fn record(&mut self, identifier: u16, module: &mut ModuleReading) {
        let Some(bytes) = self.answers.record(identifier) else { return };
        let record = RecordName::Identifier(identifier);
        match self.script.length(self.name, self.answers, &record) {
            Some(expected) if expected != bytes.len() => {
                let why = UnreadWhy::Length { found: bytes.len(), expected };
                self.unread(ReadRequest::Record(identifier), why);
            }
            // What it is called is kept as what it is called; bytes that are no text are kept as bytes.
            None if is_identity_record(identifier)
                && asfound_core::examination::text_of_record(bytes).is_some()
                && !self.is_known(&record) => {}
            _ => {
                module.records.insert(record, HexBytes::from(bytes.to_vec()));
            }
        }
    }

    fn is_known(&self, record: &RecordName) -> bool {
        self.script.state().record(self.name, record).is_some()
    }

    fn codes(&self, module: &mut ModuleReading) {
        let Some(wanted) = self.script.wanted().codes else { return };
        let answer = |report| self.answers.answer(ReadRequest::Codes(report));
        let Some(list) = answer(CodesReport::List { mask: wanted.mask }).and_then(|bytes| bytes.get(3..)) else {
            return;
        };
        let format = answer(CodesReport::Count { mask: wanted.mask }).and_then(|bytes| bytes.get(3));
        let code = |[a, b, c, status]: &[u8; 4]| {
            let code = [*a, *b, *c];
            let mut reported = ReportedCode::new(TroubleCode::from_three(code), Some(CodeStatus(*status)));
            reported.format = format.copied().map(CodeFormat);
            let snapshots = answer(CodesReport::Snapshots { code }).and_then(|bytes| bytes.get(6..));
            let raw = snapshots.filter(|bytes| !bytes.is_empty()).map(|bytes| HexBytes::from(bytes.to_vec()));
            reported.freeze_frame = raw.map(|raw| FreezeFrame { raw: Some(raw), ..FreezeFrame::default() });
            reported
        };
        module.trouble_codes = Some(list.as_chunks::<4>().0.iter().map(code).collect());
    }
}
