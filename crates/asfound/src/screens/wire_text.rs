//! A bus log on a page: what was written first, then who spoke. A log of any size fits some sixty lines.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::examination::{VIN_RECORD, identity_by_records, text_of_record};
use asfound_report::{NOTHING, Page, Table};
use asfound_wire::conversation::{
    Conversations, MemoryWrite, ModuleTimeline, RecordAnswer, RecordTimeline, WriteOutcome, WriteStory,
};
use asfound_wire::frame::Timestamp;
use asfound_wire::log::{LogClock, LogFacts};
use asfound_wire::transport::Mendings;
use time::OffsetDateTime;

use super::shared::counted;
use super::wire::{channel_text, module_text, service_text, tester_text};
use crate::bus_log::Buses;
use crate::setup::Zone;

/// So many writes, modules and services are shown one by one.
const MOST_WRITES: usize = 10;
const MOST_MODULES: usize = 12;
const MOST_SERVICES: usize = 8;
/// So many differing bytes of a write are shown one by one.
const MOST_BYTES: usize = 6;

/// Times as the clocks of the place show them, or as the log counts them.
pub struct LogTimes<'z> {
    clock: LogClock,
    zone: &'z Zone,
}

impl<'z> LogTimes<'z> {
    /// Those of a log.
    pub fn of(facts: &LogFacts, zone: &'z Zone) -> Self {
        Self { clock: facts.clock, zone }
    }

    fn local(&self, moment: Timestamp) -> Option<OffsetDateTime> {
        if self.clock != LogClock::Date {
            return None;
        }
        let at = OffsetDateTime::from_unix_timestamp_nanos(i128::from(moment.nanoseconds())).ok()?;
        Some(at.to_offset(self.zone.offset_at(at)))
    }

    /// A time of the day, or seconds since the log began.
    pub fn short(&self, moment: Option<Timestamp>) -> String {
        let Some(moment) = moment else { return NOTHING.to_owned() };
        match self.local(moment) {
            Some(at) => {
                let time = at.time();
                format!("{:02}:{:02}:{:02}.{:03}", time.hour(), time.minute(), time.second(), time.millisecond())
            }
            None => format!("{} s", milliseconds(moment.nanoseconds())),
        }
    }

    /// From when to when, and how long.
    pub fn span(&self, first: Option<Timestamp>, last: Option<Timestamp>) -> String {
        let (Some(first), Some(last)) = (first, last) else { return "the log has no times".to_owned() };
        let long = milliseconds(last.since(first));
        match (self.local(first), self.local(last)) {
            (Some(from), Some(to)) => {
                let day = |at: OffsetDateTime| at.date().to_string();
                let time = |moment| self.short(Some(moment));
                let end = if from.date() == to.date() { time(last) } else { format!("{} {}", day(to), time(last)) };
                format!("{} {} to {end} ({}), {long} s", day(from), time(first), offset(from))
            }
            _ => format!("{long} s; the log tells no date"),
        }
    }
}

fn offset(at: OffsetDateTime) -> String {
    let (hours, minutes, _) = at.offset().as_hms();
    let sign = if at.offset().is_negative() { '-' } else { '+' };
    format!("{sign}{:02}:{:02}", hours.unsigned_abs(), minutes.unsigned_abs())
}

fn milliseconds(nanoseconds: u64) -> String {
    format!("{}.{:03}", nanoseconds / 1_000_000_000, nanoseconds % 1_000_000_000 / 1_000_000)
}

/// What was written: before and after, by whom, and how well the log shows it.
pub fn writes(page: &mut Page, conversations: &Conversations, buses: &Buses, times: &LogTimes<'_>) {
    let mut stories: Vec<(String, String, WriteStory<'_>)> = Vec::new();
    for (module, timeline) in &conversations.modules {
        let module = module_text(*module, buses);
        stories.extend(stories_of(timeline).into_iter().map(|(what, story)| (module.clone(), what, story)));
    }
    stories.sort_by_key(|(_, _, story)| story.number);
    page.part(if stories.is_empty() { "nothing was written" } else { "written" });
    for (module, what, story) in stories.iter().take(MOST_WRITES) {
        let by = story.tester.map_or_else(String::new, |tester| format!(" by {}", tester_text(tester, buses)));
        let (at, answer) = (times.short(story.at), answer(story));
        page.item(&format!("{at} {module} {what}{by}: {}; {answer}", bytes(story)));
    }
    if stories.len() > MOST_WRITES {
        page.item(&format!("and {}", counted(stories.len() - MOST_WRITES, "more write", "more writes")));
    }
}

/// Every write of a module, with what was written.
pub fn stories_of(timeline: &ModuleTimeline) -> Vec<(String, WriteStory<'_>)> {
    let records = timeline.records.iter().map(|(record, events)| (format!("record {record:04X}"), events));
    let local = timeline.local_records.iter().map(|(record, events)| (format!("local record {record:02X}"), events));
    let mut stories: Vec<(String, WriteStory<'_>)> = Vec::new();
    for (what, events) in records.chain(local) {
        stories.extend(events.writes().into_iter().map(|story| (what.clone(), story)));
    }
    stories.extend(timeline.memory_writes.iter().map(|write| (memory_text(write), memory_story(write))));
    stories
}

fn memory_text(write: &MemoryWrite) -> String {
    write.address.map_or_else(|| "memory".to_owned(), |address| format!("memory at {address:08X}"))
}

/// What memory held before and after is not looked for.
fn memory_story(write: &MemoryWrite) -> WriteStory<'_> {
    WriteStory {
        before: None,
        written: write.bytes.as_deref(),
        at: write.at,
        outcome: write.outcome,
        after: None,
        number: write.number,
        tester: write.tester,
        mended: Mendings::default(),
        gap: None,
    }
}

fn answer(story: &WriteStory<'_>) -> String {
    match (story.outcome, story.read_back_agrees()) {
        (WriteOutcome::Accepted, Some(true)) => "accepted, and read back the same".to_owned(),
        (WriteOutcome::Accepted, Some(false)) => "accepted, but read back otherwise".to_owned(),
        (WriteOutcome::Accepted, None) => "accepted, not read back".to_owned(),
        (WriteOutcome::Refused(why), _) => format!("refused: {why}"),
        (WriteOutcome::NoAnswer, Some(true)) => "no answer in the log, but read back the same".to_owned(),
        (WriteOutcome::NoAnswer, _) => "no answer in the log".to_owned(),
    }
}

/// What a write alters, byte by byte.
fn bytes(story: &WriteStory<'_>) -> String {
    let hex = |bytes: &[u8]| {
        let shown: Vec<String> = bytes.iter().take(16).map(|byte| format!("{byte:02X}")).collect();
        let more = if bytes.len() > 16 { format!(" and {} more", bytes.len() - 16) } else { String::new() };
        format!("{}{more}", shown.join(" "))
    };
    match (story.before, story.written) {
        (_, None) => "its bytes are not in the log".to_owned(),
        (None, Some(written)) => format!("now {}, not read before", hex(written)),
        (Some((before, _)), Some(written)) if before == written => "the same bytes as before".to_owned(),
        (Some((before, _)), Some(written)) if before.len() == written.len() => {
            let differing: Vec<String> = before
                .iter()
                .zip(written)
                .enumerate()
                .filter(|(_, (was, now))| was != now)
                .map(|(at, (was, now))| format!("byte {at} was {was:02X}, now {now:02X}"))
                .collect();
            let more = differing.len().saturating_sub(MOST_BYTES);
            let text = differing.iter().take(MOST_BYTES).cloned().collect::<Vec<_>>().join("; ");
            if more > 0 { format!("{text}; and {}", counted(more, "more byte", "more bytes")) } else { text }
        }
        (Some((before, _)), Some(written)) => format!("was {}, now {}", hex(before), hex(written)),
    }
}

/// How many records were answered, refused and silent.
fn records(timeline: &ModuleTimeline) -> [usize; 3] {
    let all = || timeline.records.values().chain(timeline.local_records.values());
    let count = |answer| all().filter(|record| record.answer() == answer).count();
    [RecordAnswer::Answered, RecordAnswer::Refused, RecordAnswer::Silent].map(count)
}

/// What a module says of itself, by what was read of it last.
fn last_read(timeline: &ModuleTimeline, record: u16) -> Option<&[u8]> {
    timeline.records.get(&record).and_then(RecordTimeline::last_read)
}

/// One line for each module that spoke or was asked.
pub fn modules(page: &mut Page, conversations: &Conversations, buses: &Buses) {
    if conversations.modules.is_empty() {
        return;
    }
    page.part("modules");
    let heads = ["module", "asked by", "part number", "exchanges", "records", "refused", "silent"];
    let mut table = heads.iter().enumerate().skip(3).fold(Table::new(heads), |table, (at, _)| table.figures(at));
    for (module, timeline) in conversations.modules.iter().take(MOST_MODULES) {
        let testers: Vec<String> = timeline.testers.iter().map(|tester| tester_text(*tester, buses)).collect();
        let [answered, refused, silent] = records(timeline);
        table.row([
            module_text(*module, buses),
            if testers.is_empty() { NOTHING.to_owned() } else { testers.join(", ") },
            identity_by_records(|record| last_read(timeline, record).map(<[u8]>::to_vec))
                .part_number
                .unwrap_or_else(|| NOTHING.to_owned()),
            timeline.services.values().sum::<u64>().to_string(),
            answered.to_string(),
            refused.to_string(),
            silent.to_string(),
        ]);
    }
    page.table(&table);
    more(page, conversations.modules.len(), MOST_MODULES, "more module", "more modules");
    let vehicle = |timeline: &ModuleTimeline| {
        let by_record = last_read(timeline, VIN_RECORD).and_then(text_of_record);
        by_record.or_else(|| timeline.vin_by_information().and_then(text_of_record))
    };
    let vehicles: BTreeSet<String> = conversations.modules.values().filter_map(vehicle).collect();
    for vehicle in vehicles.iter().take(3) {
        page.pair("VIN", vehicle);
    }
    let sum = |count: fn(&ModuleTimeline) -> u64| conversations.modules.values().map(count).sum::<u64>();
    for (count, one, many) in [
        (
            sum(|timeline| timeline.without_request),
            "answer whose request is not in the log",
            "answers whose request is not in the log",
        ),
        (
            sum(|timeline| timeline.without_answer),
            "request without an answer in the log",
            "requests without an answer in the log",
        ),
    ] {
        if count > 0 {
            page.remark(&counted(usize::try_from(count).unwrap_or(usize::MAX), one, many));
        }
    }
}

/// How often each service was used, of all modules together.
pub fn services(page: &mut Page, conversations: &Conversations) {
    let mut services: BTreeMap<u8, u64> = BTreeMap::new();
    for timeline in conversations.modules.values() {
        for (service, count) in &timeline.services {
            *services.entry(*service).or_default() += count;
        }
    }
    if services.is_empty() {
        return;
    }
    let mut services: Vec<(u8, u64)> = services.into_iter().collect();
    services.sort_by_key(|(service, count)| (std::cmp::Reverse(*count), *service));
    page.gap();
    let mut table = Table::new(["service", "exchanges"]).figures(1);
    for (service, count) in services.iter().take(MOST_SERVICES) {
        table.row([service_text(*service), count.to_string()]);
    }
    page.table(&table);
    more(page, services.len(), MOST_SERVICES, "more service", "more services");
}

/// The buses that a log names.
pub fn bus_names(buses: &Buses) -> String {
    let names: Vec<&str> = buses.values().map(String::as_str).filter(|name| !name.is_empty()).collect();
    if names.is_empty() { String::new() } else { format!(" on {}", names.join(", ")) }
}

/// The names that tell buses apart: none where there is one bus.
pub fn telling_names(buses: &Buses) -> Buses {
    if buses.values().filter(|name| !name.is_empty()).count() > 1 { buses.clone() } else { Buses::new() }
}

/// Identifiers without partner, folded into lines.
pub fn undecided(page: &mut Page, listened: &asfound_wire::listening::ListenerSummary, buses: &Buses) {
    use asfound_wire::transport::CanChannel;
    let all = &listened.found.undecided;
    if all.is_empty() {
        return;
    }
    page.part("identifiers that could be diagnostics and have no partner");
    for one in all.iter().take(MOST_SERVICES) {
        let channel = CanChannel { interface: one.interface, id: one.id, address: None };
        let perhaps = one.perhaps.map_or_else(String::new, |id| format!(", perhaps with {id}"));
        let frames = counted(usize::try_from(one.frames).unwrap_or(usize::MAX), "frame", "frames");
        page.item(&format!("{}: {frames}{perhaps}", channel_text(channel, buses)));
    }
    more(page, all.len(), MOST_SERVICES, "more identifier", "more identifiers");
    page.line("Say a pair with `--pair REQUEST:RESPONSE`.");
}

fn more(page: &mut Page, count: usize, shown: usize, one: &str, many: &str) {
    if count > shown {
        page.line(&format!("And {}.", counted(count - shown, one, many)));
    }
}
