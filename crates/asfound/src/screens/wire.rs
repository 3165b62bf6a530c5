//! What `wire show` shows.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use asfound_wire::conversation::{Conversations, ModuleAddress, ModuleTimeline, TesterAddress, WriteOutcome};
use asfound_wire::frame::Timestamp;
use asfound_wire::listening::{ListenerSummary, Message, Sender};
use asfound_wire::log::{LogClock, LogFacts, LogForm, LogProblem};
use asfound_wire::pairing::Role;
use asfound_wire::service::{Refusal, service_name};
use asfound_wire::transport::{CanChannel, FailedMessage, FailureReason};
use serde_json::{Value, json};

use super::shared::counted;
use super::wire_left_open;
use super::wire_text::{self, LogTimes};
use crate::bus_log::Buses;
use crate::log_hint::named;
use crate::setup::{Screen, Zone};
use asfound_report::{Page, Table};

/// What was heard in a log.
pub struct BusLogScreen {
    log: PathBuf,
    zone: Zone,
    /// Whole messages.
    pub messages: u64,
    broken: BTreeMap<FailureReason, u64>,
    first_problems: Vec<String>,
    whole: Option<(LogFacts, ListenerSummary, Conversations, Buses)>,
}

/// So many problems of the log are shown one by one; all are counted.
const SHOWN_PROBLEMS: usize = 5;

impl BusLogScreen {
    /// Nothing yet.
    pub fn new(log: &Path, zone: Zone) -> Self {
        Self {
            log: log.to_owned(),
            zone,
            messages: 0,
            broken: BTreeMap::new(),
            first_problems: Vec::new(),
            whole: None,
        }
    }

    /// A message that did not get through.
    pub fn broken(&mut self, why: FailureReason) {
        // How much of a message came differs each time, and is no kind of its own.
        let kind = match why {
            FailureReason::WrongNumber { .. } => FailureReason::WrongNumber { expected: 0, got: 0 },
            FailureReason::Interrupted { .. } => FailureReason::Interrupted { have: 0, of: 0 },
            FailureReason::Unfinished { .. } => FailureReason::Unfinished { have: 0, of: 0 },
            FailureReason::TooLong(_) => FailureReason::TooLong(0),
            other => other,
        };
        *self.broken.entry(kind).or_default() += 1;
    }

    /// A piece of the log that could not be read.
    pub fn problem(&mut self, problem: &LogProblem) {
        if self.first_problems.len() < SHOWN_PROBLEMS {
            self.first_problems.push(problem.to_string());
        }
    }

    /// The log is at its end.
    pub fn finish(&mut self, facts: LogFacts, listened: ListenerSummary, conversations: Conversations, buses: Buses) {
        self.whole = Some((facts, listened, conversations, buses));
    }

    /// The last line of the JSON form, which tells of the whole log.
    pub fn last_line(&self) -> Value {
        self.json()
    }

    fn all_broken(&self) -> u64 {
        self.broken.values().sum()
    }
}

fn broken_kind(why: FailureReason) -> &'static str {
    match why {
        FailureReason::WrongNumber { .. } => "a frame is missing or came twice",
        FailureReason::ShortFrame => "a frame in the middle is too short",
        FailureReason::Interrupted { .. } => "another message began first",
        FailureReason::Unfinished { .. } => "the log ends first",
        FailureReason::Overflow => "the receiver had no room",
        FailureReason::TooLong(_) => "longer than what is put together",
        FailureReason::NoBeginning => "the beginning is not in the log",
        FailureReason::Frame(_) => "a frame that is none of the transport",
    }
}

pub(super) fn channel_text(channel: CanChannel, buses: &Buses) -> String {
    let bus = buses.get(&channel.interface).filter(|name| !name.is_empty());
    let address = channel.address.map_or_else(String::new, |address| format!("/{address:02X}"));
    match bus {
        Some(bus) => format!("{bus} {}{address}", channel.id),
        None => format!("{}{address}", channel.id),
    }
}

pub(super) fn module_text(module: ModuleAddress, buses: &Buses) -> String {
    match module {
        ModuleAddress::Can(channel) => channel_text(channel, buses),
        ModuleAddress::Ip(address) => format!("IP {address:04X}"),
    }
}

pub(super) fn tester_text(tester: TesterAddress, buses: &Buses) -> String {
    match tester {
        TesterAddress::Can(channel) => channel_text(channel, buses),
        TesterAddress::Ip(address) => format!("IP {address:04X}"),
    }
}

fn hex(bytes: &[u8]) -> String {
    let digits = |half: u8| char::from(b"0123456789ABCDEF"[usize::from(half)]);
    bytes.iter().flat_map(|byte| [digits(byte >> 4), digits(byte & 0x0F)]).collect()
}

fn clock_text(clock: LogClock) -> &'static str {
    match clock {
        LogClock::Date => "date",
        LogClock::Beginning => "beginning",
        LogClock::LineBefore => "line-before",
        LogClock::None => "none",
    }
}

fn form_text(form: LogForm) -> &'static str {
    match form {
        LogForm::Candump => "candump",
        LogForm::Pcap => "pcap",
        LogForm::Pcapng => "pcapng",
    }
}

pub(super) fn service_text(service: u8) -> String {
    format!("{service:02X} {}", service_name(service).unwrap_or("unknown service"))
}

pub(super) fn moment_text(moment: Option<Timestamp>) -> Option<String> {
    moment.map(|moment| moment.to_string())
}

fn sender_json(sender: Sender, buses: &Buses) -> Value {
    match sender {
        Sender::Can(channel) => json!({
            "bus": buses.get(&channel.interface).filter(|name| !name.is_empty()),
            "id": channel.id.to_string(),
            "address": channel.address.map(|address| format!("{address:02X}")),
        }),
        Sender::Ip { source, target } => {
            json!({ "source": format!("{source:04X}"), "target": format!("{target:04X}") })
        }
    }
}

/// One message as a line of JSON.
pub fn message_line(message: &Message, buses: &Buses) -> Value {
    let first = message.payload.first().copied().unwrap_or(0);
    let (role, service) = match (message.role, message.payload.as_slice()) {
        (Role::Request, _) => ("request", first),
        (Role::Response, [0x7F, service, ..]) => ("response", *service),
        (Role::Response, _) => ("response", first & !0x40),
    };
    let refusal = match message.payload.as_slice() {
        [0x7F, _, code] if message.role == Role::Response => Some(Refusal(*code).to_string()),
        _ => None,
    };
    json!({
        "schema": "asfound/wire-message/1",
        "number": message.number,
        "first": moment_text(message.first),
        "last": moment_text(message.last),
        "from": sender_json(message.sender, buses),
        "role": role,
        "service": format!("{service:02X}"),
        "service_name": service_name(service),
        "refusal": refusal,
        "payload": hex(&message.payload),
        "blanked": message.blanked,
        "frames": message.frames,
    })
}

/// One message that did not get through, as a line of JSON.
pub fn broken_line(broken: &FailedMessage, buses: &Buses) -> Value {
    json!({
        "schema": "asfound/wire-broken/1",
        "number": broken.first_frame,
        "first": moment_text(broken.first),
        "last": moment_text(broken.last),
        "from": sender_json(Sender::Can(broken.channel), buses),
        "why": broken.why.to_string(),
        "partial": hex(&broken.partial),
    })
}

fn write_counts(module: &ModuleTimeline) -> [usize; 3] {
    let mut counts = [0; 3];
    for (_, story) in wire_text::stories_of(module) {
        counts[match story.outcome {
            WriteOutcome::Accepted => 0,
            WriteOutcome::Refused(_) => 1,
            WriteOutcome::NoAnswer => 2,
        }] += 1;
    }
    counts
}

impl Screen for BusLogScreen {
    fn text(&self, page: &mut Page) {
        let Some((facts, listened, conversations, buses)) = &self.whole else { return };
        page.head(&[&named(&self.log), form_text(facts.form)]);
        let times = LogTimes::of(facts, &self.zone);
        page.pair("time", &times.span(facts.first, facts.last));
        page.pair(
            "frames",
            &format!("{}{}", counted_large(facts.frames, "frame", "frames"), wire_text::bus_names(buses)),
        );
        let diagnostic = counted_large(self.messages, "message", "messages");
        page.pair("diagnostics", &format!("{diagnostic}, {} did not get through", self.all_broken()));
        let buses = &wire_text::telling_names(buses);
        wire_left_open::left_open(page, conversations, buses, &times);
        wire_text::writes(page, conversations, buses, &times);
        wire_text::modules(page, conversations, buses);
        wire_text::services(page, conversations);
        if !self.broken.is_empty() {
            page.part("messages that did not get through");
            let mut table = Table::new(["why", "messages"]).figures(1);
            for (why, count) in &self.broken {
                table.row([broken_kind(*why).to_owned(), count.to_string()]);
            }
            page.table(&table);
        }
        wire_text::undecided(page, listened, buses);
        let problems: u64 = facts.problems.values().sum();
        if problems > 0 {
            page.part("what could not be read");
            self.first_problems.iter().for_each(|problem| page.item(problem));
            page.line(&format!("{} in all.", counted_large(problems, "place", "places")));
        }
    }

    fn json(&self) -> Value {
        let Some((facts, listened, conversations, buses)) = &self.whole else { return Value::Null };
        let module = |(module, timeline): (&ModuleAddress, &ModuleTimeline)| {
            let [accepted, refused, open] = write_counts(timeline);
            let services: BTreeMap<String, u64> =
                timeline.services.iter().map(|(service, count)| (format!("{service:02X}"), *count)).collect();
            json!({
                "module": module_text(*module, buses),
                "testers": timeline.testers.iter().map(|tester| tester_text(*tester, buses)).collect::<Vec<_>>(),
                "services": services,
                "records": timeline.records.len(),
                "local_records": timeline.local_records.len(),
                "writes": { "accepted": accepted, "refused": refused, "unanswered": open },
                "without_request": timeline.without_request,
                "without_answer": timeline.without_answer,
            })
        };
        let undecided = |one: &asfound_wire::pairing::Undecided| {
            json!({
                "bus": buses.get(&one.interface).filter(|name| !name.is_empty()),
                "id": one.id.to_string(),
                "frames": one.frames,
                "perhaps": one.perhaps.map(|id| id.to_string()),
            })
        };
        json!({
            "schema": "asfound/wire/1",
            "log": self.log,
            "form": form_text(facts.form),
            "clock": clock_text(facts.clock),
            "first": moment_text(facts.first),
            "last": moment_text(facts.last),
            "frames": facts.frames,
            "messages": self.messages,
            "broken": self.all_broken(),
            "modules": conversations.modules.iter().map(module).collect::<Vec<_>>(),
            "left_open": wire_left_open::json(conversations, buses),
            "undecided": listened.found.undecided.iter().map(undecided).collect::<Vec<_>>(),
            "unrecognised_frames": listened.found.unrecognised,
            "problems": facts.problems.values().sum::<u64>(),
        })
    }
}

/// A count that may be larger than what the usual helper takes.
fn counted_large(count: u64, one: &str, many: &str) -> String {
    counted(usize::try_from(count).unwrap_or(usize::MAX), one, many)
}
