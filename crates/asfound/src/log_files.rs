//! Listens to the logs of one piece of work, and keeps of them what is to be filed.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use asfound_capture::bus_log::{BusSummary, lengths};
use asfound_core::entry::FiledLog;
use asfound_journal::journal::Attachment;
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::{CanFrame, Timestamp};
use asfound_wire::listening::{BusEvent as HeardOne, ListenerOptions, Sender};
use asfound_wire::log::{LogFacts, candump_text, first_moment, tells_a_date};
use asfound_wire::pairing::PairOverride;
use time::OffsetDateTime;

use crate::bus_log::{Buses, HashingReader, hear, hear_together};
use crate::failure::Failure;
use crate::filing::{LARGEST, unreadable};
use crate::log_hint::{no_log, unread};
use crate::screens::wire::message_line;
use crate::setup::TracedJournal;

/// The logs that are to be heard.
pub struct LogFiles<'a> {
    /// Their files.
    pub paths: &'a [PathBuf],
    /// Pairs of identifiers that are said.
    pub pairs: Vec<PairOverride>,
    /// Whether their conversations are kept.
    pub keep: bool,
}

/// Listens to all logs, in the order in which they began, as if they were one; and what is kept of them.
///
/// # Errors
/// When one of them is no log or cannot be read, or what is to be kept is too large.
pub fn hear_all(files: LogFiles<'_>, known: &TracedJournal) -> Result<(BusSummary, Vec<Attachment>), Failure> {
    let LogFiles { paths, pairs, keep: keep_log } = files;
    let mut logs = Vec::new();
    for path in paths {
        let first = first_moment(open(path)?.take(BEGINNING));
        logs.push((path, first));
    }
    // A clock that tells no date may have begun anew with each log; then they are taken one after the other.
    let by_time = logs.iter().all(|(_, first)| first.is_some_and(tells_a_date));
    logs.sort_by_key(|(_, first)| {
        first.map_or(0, |first| first.nanoseconds() / if by_time { 1 } else { 1_000_000_000 })
    });
    let mut files = Vec::new();
    for (path, _) in &logs {
        files.push(HashingReader::new(open(path)?));
    }
    let options = ListenerOptions { pairs, keep_frames: keep_log, ..ListenerOptions::default() };
    let known_lengths = lengths(known.state(), &known.definitions);
    let length = |_: &ModuleAddress, record| known_lengths.get(&record).copied();
    let (mut broken, mut kept, mut messages) = (0, KeptLines::default(), KeptLines::default());
    let mut take = |heard: &HeardOne, buses: &Buses| match heard {
        HeardOne::Broken(_) => broken += 1,
        HeardOne::Message(message) if keep_log && matches!(message.sender, Sender::Ip { .. }) => {
            messages.add(message.number, message_line(message, buses).to_string());
        }
        _ => {}
    };
    let mut keep = |number: u64, frame: &CanFrame, buses: &Buses| {
        let bus = buses.get(&frame.interface).map_or("", String::as_str);
        kept.add(number, candump_text(frame, bus));
    };
    let (facts, conversations, buses) = match files.as_mut_slice() {
        [only] => {
            let hearing =
                hear(only, options, &length, &mut take, &mut keep).map_err(|error| unread(logs[0].0, &error))?;
            (vec![Ok(hearing.facts)], hearing.conversations, hearing.buses)
        }
        several => {
            let readers = several.iter_mut().collect();
            let together = hear_together(readers, by_time, options, &length, (&mut take, &mut keep));
            (together.facts, together.conversations, together.buses)
        }
    };
    let (mut numbers, mut witnessed) = (0, Vec::new());
    for ((path, _), (facts, file)) in logs.iter().zip(facts.into_iter().zip(files)) {
        let facts = facts.map_err(|error| unread(path, &error))?;
        if facts.frames + facts.ip_messages == 0 {
            return Err(no_log(path, &facts));
        }
        numbers += facts.frames + facts.ip_messages;
        witnessed.push(witnessed_log(path, &facts, file)?);
    }
    let name = witnessed.first().map(|log: &FiledLog| log.name.clone()).unwrap_or_default();
    let kept = if kept.lines.is_empty() { messages.evidence(&name, "jsonl")? } else { kept.evidence(&name, "log")? };
    let mut heard = BusSummary::default();
    heard.add(witnessed, conversations, &buses, (numbers, broken));
    Ok((heard, kept.into_iter().collect()))
}

/// As many bytes of a log are read to find its first moment.
const BEGINNING: u64 = 1 << 18;

fn open(log: &Path) -> Result<File, Failure> {
    File::open(log).map_err(|error| unreadable(log, &error))
}

fn witnessed_log(log: &Path, facts: &LogFacts, file: HashingReader<File>) -> Result<FiledLog, Failure> {
    let (sha256, bytes) = file.finish().map_err(|error| unreadable(log, &error))?;
    let name = log.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let date = |moment: Option<Timestamp>| {
        let milliseconds = i128::from(moment?.nanoseconds() / 1_000_000);
        OffsetDateTime::from_unix_timestamp_nanos(milliseconds * 1_000_000).ok()
    };
    Ok(FiledLog { name, sha256, bytes, first: date(facts.first), last: date(facts.last) })
}

/// Lines of a log that are kept, with their numbers.
#[derive(Default)]
struct KeptLines {
    lines: BTreeMap<u64, String>,
    bytes: u64,
}

impl KeptLines {
    fn add(&mut self, number: u64, line: String) {
        self.bytes += line.len() as u64 + 1;
        // What is too large is told at the end, and not gathered.
        if self.bytes <= LARGEST {
            self.lines.insert(number, line);
        }
    }

    fn evidence(self, log: &str, ending: &str) -> Result<Option<Attachment>, Failure> {
        if self.bytes > LARGEST {
            return Err(Failure::usage(format!(
                "{log}: its diagnostic conversations have {} bytes, more than the {LARGEST} that can be attached",
                self.bytes
            ))
            .hint("say the same without `--keep-log`: the log's digest is filed in any case"));
        }
        if self.lines.is_empty() {
            return Ok(None);
        }
        let stem = log.split('.').next().unwrap_or(log);
        let mut content = Vec::new();
        for line in self.lines.into_values() {
            content.extend_from_slice(line.as_bytes());
            content.push(b'\n');
        }
        Ok(Some(Attachment { name: format!("{stem}-conversations.{ending}"), content }))
    }
}
