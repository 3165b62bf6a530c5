//! `asfound/witness/1`: what `file-log` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, WireGap, rising};

/// What bus logs show, and what is filed of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Witness {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// Whether it is filed; with `--preview` nothing is.
    pub filed: bool,
    /// The logs, in the order in which they began.
    pub logs: Vec<WitnessedLog>,
    /// What is found of their clock.
    pub clock: LogClock,
    /// The modules that are known by name, in the order in which they were heard.
    pub modules: Vec<ModuleOnBus>,
    /// Modules of which nothing tells which they are.
    pub unplaced: Vec<UnknownModule>,
    /// What was done besides reading and writing, in its order.
    pub actions: Vec<DoneOnBus>,
    /// The writes, in their order.
    pub writes: Vec<WriteOnBus>,
    /// What the logs do not tell, in words.
    pub cannot_tell: Vec<String>,
    /// What was read and is not taken over, in words.
    pub not_taken_over: Vec<String>,
    /// What is worth saying of the readings, in words.
    pub remarks: Vec<String>,
    /// Restricted systems that the changes touch, sorted.
    pub restricted: Vec<String>,
    /// The entries that are filed, or would be: the last is the witness.
    pub entries: Vec<DrawnUp>,
}

/// One log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WitnessedLog {
    /// The name of its file.
    pub name: String,
    /// The SHA-256 of its file, in lower-case hexadecimal.
    pub sha256: String,
    /// Its size.
    pub bytes: u64,
    /// The first moment in it by its own clock (RFC 3339); nothing where it tells no time.
    pub first: Option<String>,
    /// The last.
    pub last: Option<String>,
}

/// The clock of the logs beside that of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LogClock {
    /// By how many milliseconds the journal's times are later: the middle one of those that were found; nothing where no work
    /// of the journal is in the logs.
    pub journal_later_ms: Option<i64>,
    /// Between the smallest and the largest of them.
    pub spread_ms: i64,
    /// How many writes were found in the journal with their time.
    pub writes_found: usize,
    /// By how many milliseconds the logs' times are put later; nothing where they stand.
    pub put_later_ms: Option<i64>,
}

/// A module that is known by name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModuleOnBus {
    /// The module.
    pub module: String,
    /// Where it speaks, as `--module` takes it.
    pub place: String,
    /// Its bus, where the log names one.
    pub bus: Option<String>,
    /// What says that it is this module, in words.
    pub known: String,
    /// Other buses on which the same was heard at the same time.
    pub mirrored: Vec<String>,
}

/// A module of which nothing tells which it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnknownModule {
    /// Where it speaks, as `--module` takes it.
    pub place: String,
    /// Its bus, where the log names one.
    pub bus: Option<String>,
    /// How many records were asked for or written.
    pub records: usize,
    /// How many writes there were.
    pub writes: usize,
    /// The module whose records hold what was read here.
    pub perhaps: Option<String>,
}

/// Something that was done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DoneOnBus {
    /// When, to the millisecond (RFC 3339).
    pub at: Option<String>,
    /// The module.
    pub module: String,
    /// What, in words.
    pub what: String,
    /// `accepted`, `refused` or `none`.
    pub answer: String,
}

/// A write.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WriteOnBus {
    /// When, to the millisecond (RFC 3339).
    pub at: Option<String>,
    /// The module.
    pub module: String,
    /// The record.
    pub record: String,
    /// What was read last before it; nothing where the logs do not show it.
    pub found: Option<String>,
    /// What was written; nothing where the request is not in the logs.
    pub written: Option<String>,
    /// `accepted`, `refused` or `none`.
    pub answer: String,
    /// The negative response code in hexadecimal, where the module refused.
    pub refusal: Option<String>,
    /// What was read first after it; nothing where it was not read again.
    pub read_back: Option<String>,
    /// What it was about: settings that differ, or the record.
    pub settings: Vec<SettingOnBus>,
    /// The change or put-back that recorded it.
    pub entry: Option<u32>,
    /// The reading in which it shows, where no entry recorded it.
    pub shown_by: Option<u32>,
    /// Who asked: an identifier or a logical address; nothing where the logs do not tell it.
    pub tester: Option<String>,
    /// Said to be the work of whoever files the log, though no change of it can be filed.
    pub own: bool,
    /// What in the log was mended: `part-missing`, `request-missing`, `out-of-order`, `across-logs`, `doubled`.
    pub mended: Vec<String>,
    /// What of the request is in the log, where a part of it is missing.
    pub gap: Option<WireGap>,
    /// Whether it altered something that the journal does not know, and nobody claims it.
    pub unaccounted: bool,
}

/// What a write did to one setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingOnBus {
    /// The setting, or `module:record` with its bytes.
    pub what: String,
    /// Read before, as people see it.
    pub found: Option<String>,
    /// Written.
    pub written: Option<String>,
    /// Read again.
    pub read_back: Option<String>,
}

/// An entry that is filed, or would be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrawnUp {
    /// Its number.
    pub number: u32,
    /// Its kind.
    pub kind: String,
    /// What it tells, in one line.
    pub headline: String,
    /// When what it tells of happened (RFC 3339).
    pub happened: String,
    /// How exactly that is known: `second`, `day`, `month` or `year`.
    pub precision: String,
}

impl Answer for Witness {
    const SCHEMA: &'static str = "asfound/witness/1";
    fn check(&self) {
        rising("entries", &self.entries, |entry| entry.number);
        assert_eq!(self.entries.last().map(|entry| entry.kind.as_str()), Some("witness"));
        rising("restricted systems", &self.restricted, Clone::clone);
        assert!(self.writes.is_sorted_by_key(|write| write.at.clone()), "writes are in their order");
    }
}
