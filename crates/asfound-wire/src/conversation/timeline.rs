//! Everything that was done to each module.

use std::collections::{BTreeMap, BTreeSet};

use super::left_open::{OpenMatters, Since};
use super::multi_record::{SeenLengths, split_all};
use super::{
    Action, ActionKind, Exchange, ExchangeOutcome, LeftOpen, MemoryWrite, ModuleAddress, ReadRun, RecordEvent,
    RecordHappening, RecordLengths, RecordTimeline, TesterAddress, Unsplit, WriteGap, WriteOutcome,
};
use crate::frame::Timestamp;
use crate::pairing::{Pairs, Role};
use crate::service::{CodeStatus, CodesReport, Request, Response};
use crate::transport::{FailedMessage, Mendings};

/// A list of trouble codes that a module gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodesRead {
    /// When it was asked for, or answered where the request is not in the log.
    pub at: Option<Timestamp>,
    /// Where in the log.
    pub number: u64,
    /// The status mask that was asked for; `None` for all supported codes, or where the request is not in the log.
    pub mask: Option<u8>,
    /// The codes.
    pub codes: Vec<CodeStatus>,
}

/// What was done to one module.
#[derive(Debug, Clone, Default)]
pub struct ModuleTimeline {
    /// Who asked it.
    pub testers: BTreeSet<TesterAddress>,
    /// Its records.
    pub records: BTreeMap<u16, RecordTimeline>,
    /// Its records with an identifier of one byte (21, 3B).
    pub local_records: BTreeMap<u8, RecordTimeline>,
    /// Writes of its memory (3D).
    pub memory_writes: Vec<MemoryWrite>,
    /// What it said of the vehicle (09 of ISO 15031-5), by kind, as it was said first.
    pub vehicle_information: BTreeMap<u8, Vec<u8>>,
    /// What is open at the end of the log, the gravest first.
    pub left_open: Vec<LeftOpen>,
    /// Reads of several records that cannot be told apart.
    pub unsplit: Vec<Unsplit>,
    /// Lists of trouble codes.
    pub codes: Vec<CodesRead>,
    /// What else was done.
    pub actions: Vec<Action>,
    /// Further lists and actions that are not kept, because there were too many.
    pub not_listed: u64,
    /// How many exchanges there were for each service.
    pub services: BTreeMap<u8, u64>,
    /// Responses whose request is not in the log: it starts in the middle, or lost frames.
    pub without_request: u64,
    /// Requests without an answer in the log that wanted one.
    pub without_answer: u64,
    open: OpenMatters,
    memory_bytes: usize,
    seen: SeenLengths,
    waiting: Vec<Unsplit>,
    waiting_bytes: usize,
}

/// What the conversations of a log say.
#[derive(Debug, Clone, Default)]
pub struct Conversations {
    /// Each module that was asked or answered.
    pub modules: BTreeMap<ModuleAddress, ModuleTimeline>,
    /// Requests to several modules that nobody answered and that wanted an answer.
    pub to_nobody: u64,
    /// What was asked of all modules at once, wanted no answer, and is open at the end of the log.
    pub left_open: Vec<LeftOpen>,
}

/// Gathers [`Conversations`], exchange by exchange.
#[derive(Debug, Default)]
pub struct Timeline {
    conversations: Conversations,
    broken: Vec<BrokenWrite>,
    /// What was asked of all modules at once.
    open: OpenMatters,
}

/// A request to write that did not get through.
#[derive(Debug)]
struct BrokenWrite {
    module: ModuleAddress,
    record: u16,
    number: u64,
    at: Option<Timestamp>,
    tester: TesterAddress,
    gap: WriteGap,
}

/// Where something was heard, and what in the log was put right for it.
#[derive(Debug, Clone, Copy)]
struct HeardAt {
    at: Option<Timestamp>,
    number: u64,
    mended: Mendings,
    tester: Option<TesterAddress>,
}

/// What is kept of one module besides its records.
const MOST_KEPT: usize = 10_000;
const MOST_WAITING_BYTES: usize = 1 << 23;

impl Timeline {
    /// Takes the next exchange.
    pub fn exchange(&mut self, exchange: &Exchange) {
        let Some(address) = exchange.module else {
            if matches!(exchange.outcome, ExchangeOutcome::NoAnswer) {
                self.conversations.to_nobody += 1;
            }
            self.asked_of_all(exchange);
            return;
        };
        self.conversations.modules.entry(address).or_default().exchange(exchange);
    }

    fn asked_of_all(&mut self, exchange: &Exchange) {
        let Some(message) = &exchange.request else { return };
        let quiet = matches!(exchange.outcome, ExchangeOutcome::NotWanted);
        let since = Since { at: message.first, number: message.number, accepted: false, quiet };
        let request = Request::read(&message.payload);
        self.open.exchange(since, Some(&request), None);
        self.conversations.modules.values_mut().for_each(|module| module.open.asked_of_all(since, &request));
    }

    /// Takes a message that did not get through: where the module accepted a write whose request is broken in the log, what is
    /// left of the request belongs to it.
    pub fn broken(&mut self, broken: &FailedMessage, pairs: &Pairs) {
        let asks = pairs.role(&broken.channel) == Some(Role::Request);
        let ([module], [0x2E, high, low, before @ ..], Some(length), true) =
            (pairs.responses(&broken.channel), broken.partial.as_slice(), broken.length, asks)
        else {
            return;
        };
        let there = 3 + before.len() + broken.after.len();
        let missing = (length as usize).saturating_sub(there);
        if self.broken.len() >= MOST_KEPT || missing == 0 {
            return;
        }
        self.broken.push(BrokenWrite {
            module: ModuleAddress::Can(*module),
            record: u16::from_be_bytes([*high, *low]),
            number: broken.first_frame,
            at: broken.first,
            tester: TesterAddress::Can(broken.channel),
            gap: WriteGap {
                before: before.to_vec(),
                missing: u32::try_from(missing).unwrap_or(u32::MAX),
                after: broken.after.clone(),
            },
        });
    }

    /// The log ends; `lengths` helps to tell several records in one response apart.
    pub fn finish(mut self, lengths: &dyn RecordLengths) -> Conversations {
        self.broken.sort_by_key(|broken| broken.number);
        for BrokenWrite { module, record, number, at, tester, gap } in self.broken {
            let events = self.conversations.modules.get_mut(&module).and_then(|it| it.records.get_mut(&record));
            if let Some(events) = events {
                events.complete(number, at, tester, gap);
            }
        }
        for (address, module) in &mut self.conversations.modules {
            let waiting = std::mem::take(&mut module.waiting);
            let (events, left) = split_all(*address, waiting, &mut module.seen, lengths);
            module.unsplit = left;
            module.left_open = module.open.all();
            for (record, late) in events {
                module.records.entry(record).or_default().add_late(late);
            }
        }
        self.conversations.left_open = self.open.all();
        self.conversations
    }
}

/// The kind of vehicle information that is the VIN (ISO 15031-5, service 09), and how many letters that has (ISO 3779).
const VIN_KIND: u8 = 0x02;
const VIN_LENGTH: usize = 17;

impl ModuleTimeline {
    /// The VIN as service 09 gave it on CAN: one item of 17 letters. Nothing where it came in another form.
    pub fn vin_by_information(&self) -> Option<&[u8]> {
        match self.vehicle_information.get(&VIN_KIND)?.as_slice() {
            [1, vin @ ..] if vin.len() == VIN_LENGTH => Some(vin),
            _ => None,
        }
    }

    fn exchange(&mut self, exchange: &Exchange) {
        self.testers.extend(exchange.tester);
        if let Some(service) = exchange.service() {
            *self.services.entry(service).or_default() += 1;
        }
        self.without_request += u64::from(exchange.request.is_none());
        let unanswered = matches!(exchange.outcome, ExchangeOutcome::NoAnswer | ExchangeOutcome::OnlyPending);
        self.without_answer += u64::from(unanswered);
        let Some(first) = exchange.request.as_ref().or(exchange.response()) else { return };
        let (at, number) = (first.first, first.number);
        let mended = exchange
            .request
            .iter()
            .chain(exchange.response())
            .fold(Mendings::default(), |all, message| all.and(message.mended));
        let heard = HeardAt { at, number, mended, tester: exchange.tester };
        let request = exchange.request.as_ref().map(|message| Request::read(&message.payload));
        let response = exchange.response().map(|message| Response::read(&message.payload));
        let quiet = matches!(exchange.outcome, ExchangeOutcome::NotWanted);
        let since = Since { at, number, accepted: response.is_some(), quiet };
        self.open.exchange(since, request.as_ref(), response.as_ref());
        match (&request, &response) {
            (Some(Request::Read { records }), response) => self.read(heard, records, response.as_ref()),
            (None, Some(Response::Read { data })) => {
                // Without the request it cannot be told whether it is one record.
                self.wait(heard.several(&[], data));
            }
            (Some(Request::Write { record, data }), response) => {
                let outcome = outcome(response.as_ref(), |answer| *answer == Response::Written { record: *record });
                self.event(*record, heard, RecordHappening::Write { bytes: Some(data.to_vec()), outcome });
            }
            (None, Some(Response::Written { record })) => {
                let outcome = WriteOutcome::Accepted;
                self.event(*record, heard, RecordHappening::Write { bytes: None, outcome });
            }
            (request, Some(Response::Codes(CodesReport::List { report, codes, .. }))) => {
                let mask = match request {
                    Some(Request::ReadCodes { data, .. }) if *report == 2 => data.first().copied(),
                    _ => None,
                };
                if self.has_room(self.codes.len()) {
                    self.codes.push(CodesRead { at, number, mask, codes: codes.clone() });
                }
            }
            (_, Some(Response::VehicleInformation { kind, data })) => {
                self.vehicle_information.entry(*kind).or_insert_with(|| data.to_vec());
                self.action(at, number, request.as_ref(), response.as_ref());
            }
            (request, response) => {
                self.by_local_identifier(heard, request.as_ref(), response.as_ref());
                self.memory(heard, request.as_ref(), response.as_ref());
                self.action(at, number, request.as_ref(), response.as_ref());
            }
        }
    }

    /// Records with an identifier of one byte.
    fn by_local_identifier(&mut self, heard: HeardAt, request: Option<&Request<'_>>, response: Option<&Response<'_>>) {
        let (record, what) = match (request, response) {
            (Some(Request::WriteLocal { record, data }), response) => {
                let outcome = outcome(response, |answer| matches!(answer, Response::WrittenLocal { .. }));
                (*record, RecordHappening::Write { bytes: Some(data.to_vec()), outcome })
            }
            (None, Some(Response::WrittenLocal { record })) => {
                (*record, RecordHappening::Write { bytes: None, outcome: WriteOutcome::Accepted })
            }
            (_, Some(Response::ReadLocal { record, data })) => {
                let run = ReadRun { bytes: data.to_vec(), times: 1, until: heard.at };
                (*record, RecordHappening::Read(run))
            }
            (Some(Request::ReadLocal { record }), Some(Response::Refused { why, .. })) => {
                (*record, RecordHappening::ReadRefused(*why))
            }
            (Some(Request::ReadLocal { record }), None) => (*record, RecordHappening::ReadUnanswered),
            _ => return,
        };
        let event = heard.event(what);
        self.local_records.entry(record).or_default().add(event);
    }

    fn memory(&mut self, heard: HeardAt, request: Option<&Request<'_>>, response: Option<&Response<'_>>) {
        let HeardAt { at, number, tester, .. } = heard;
        let (address, bytes) = match (request, response) {
            (Some(Request::WriteMemory { address, data }), _) => (*address, Some(data.to_vec())),
            (None, Some(Response::MemoryWritten)) => (None, None),
            _ => return,
        };
        self.memory_bytes += bytes.as_ref().map_or(0, Vec::len);
        if self.memory_bytes <= MOST_WAITING_BYTES && self.has_room(self.memory_writes.len()) {
            let outcome = outcome(response, |answer| matches!(answer, Response::MemoryWritten));
            self.memory_writes.push(MemoryWrite { at, number, tester, address, bytes, outcome });
        }
    }

    fn read(&mut self, heard: HeardAt, records: &[u16], response: Option<&Response<'_>>) {
        match (response, records) {
            (Some(Response::Read { data }), [record]) => {
                // The response repeats the identifier, as was checked when it was taken for the answer.
                let bytes = data.get(2..).unwrap_or_default().to_vec();
                self.seen.saw(*record, bytes.len());
                let run = ReadRun { bytes, times: 1, until: heard.at };
                self.event(*record, heard, RecordHappening::Read(run));
            }
            (Some(Response::Read { data }), _) => {
                self.wait(heard.several(records, data));
            }
            (Some(Response::Refused { why, .. }), _) => {
                for record in records {
                    self.event(*record, heard, RecordHappening::ReadRefused(*why));
                }
            }
            _ => {
                for record in records {
                    self.event(*record, heard, RecordHappening::ReadUnanswered);
                }
            }
        }
    }

    fn event(&mut self, record: u16, heard: HeardAt, what: RecordHappening) {
        self.records.entry(record).or_default().add(heard.event(what));
    }

    /// Keeps a response with several records until the whole log is known.
    fn wait(&mut self, several: Unsplit) {
        if let Some(last) = self.waiting.last_mut()
            && last.asked == several.asked
            && last.data == several.data
        {
            last.times = last.times.saturating_add(1);
            last.until = several.until;
            return;
        }
        self.waiting_bytes += several.data.len() + 64;
        if self.waiting_bytes > MOST_WAITING_BYTES {
            self.not_listed += 1;
        } else {
            self.waiting.push(several);
        }
    }

    fn action(
        &mut self,
        at: Option<Timestamp>,
        number: u64,
        request: Option<&Request<'_>>,
        response: Option<&Response<'_>>,
    ) {
        let Some(kind) = request
            .and_then(ActionKind::of)
            .or_else(|| request.is_none().then(|| ActionKind::of_response(response?)).flatten())
        else {
            return;
        };
        let refusal = match response {
            Some(Response::Refused { why, .. }) => Some(*why),
            _ => None,
        };
        let accepted = response.map(|_| refusal.is_none());
        if self.has_room(self.actions.len()) {
            self.actions.push(Action { at, number, kind, accepted, refusal });
        }
    }

    fn has_room(&mut self, kept: usize) -> bool {
        let room = kept < MOST_KEPT;
        self.not_listed += u64::from(!room);
        room
    }
}

/// What came of a write.
fn outcome(response: Option<&Response<'_>>, accepts: impl Fn(&Response<'_>) -> bool) -> WriteOutcome {
    match response {
        Some(Response::Refused { why, .. }) => WriteOutcome::Refused(*why),
        Some(answer) if accepts(answer) => WriteOutcome::Accepted,
        _ => WriteOutcome::NoAnswer,
    }
}

impl HeardAt {
    /// What happened to a record.
    fn event(self, what: RecordHappening) -> RecordEvent {
        let Self { at, number, mended, tester } = self;
        let tester = tester.filter(|_| matches!(what, RecordHappening::Write { .. }));
        RecordEvent { at, number, what, tester, mended, gap: None }
    }

    /// A response with several records.
    fn several(self, asked: &[u16], data: &[u8]) -> Unsplit {
        let Self { at, number, mended, .. } = self;
        Unsplit { at, number, asked: asked.to_vec(), data: data.to_vec(), mended, times: 1, until: at }
    }
}
