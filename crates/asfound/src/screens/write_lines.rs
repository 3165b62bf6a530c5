//! What bus logs showed, in words that the screens of `file-log` and `entry` share.

use std::collections::BTreeSet;

use asfound_capture::bus_log::{BusSummary, CannotTell, Clock, IdentifiedBy, LeftOut, UnidentifiedModule};
use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::difference::Content;
use asfound_core::entry::{Mending, WireAnswer, WireWrite, altered, held_before};
use asfound_core::names::EntryNumber;
use asfound_core::state::State;
use asfound_core::value::HexBytes;
use asfound_wire::service::Refusal;
use time::format_description::BorrowedFormatItem;
use time::macros::format_description;
use time::{OffsetDateTime, UtcOffset};

use super::shared::counted;
use asfound_report::{NOTHING, short_date};

const CLOCK: &[BorrowedFormatItem<'_>] = format_description!("[hour]:[minute]:[second].[subsecond digits:3]");

/// `10:05:07.123`
pub fn clock_text(at: Option<OffsetDateTime>, offset: UtcOffset) -> String {
    let text = at.and_then(|at| at.to_offset(offset).format(CLOCK).ok());
    text.unwrap_or_else(|| NOTHING.to_owned())
}

/// `14 Mar 2026, 10:05:07.123`
pub fn date_and_clock(at: Option<OffsetDateTime>, offset: UtcOffset) -> String {
    at.map_or_else(
        || NOTHING.to_owned(),
        |at| format!("{}, {}", short_date(at.to_offset(offset)), clock_text(Some(at), offset)),
    )
}

/// Bytes, the end of long ones left out.
pub fn short_bytes(bytes: Option<&HexBytes>) -> String {
    const SHOWN: usize = 8;
    match bytes {
        None => NOTHING.to_owned(),
        Some(bytes) if bytes.len() <= SHOWN => bytes.to_string(),
        Some(bytes) => {
            let first = HexBytes::from(bytes.as_slice()[..SHOWN].to_vec());
            format!("{first} … ({} bytes)", bytes.len())
        }
    }
}

/// One line of what a write was about: a setting with its values, or the record with its bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WriteLine {
    /// The setting, or `module:record`.
    pub what: String,
    /// Read before, written, read again.
    pub values: [Option<String>; 3],
}

/// What a write altered or failed to alter, setting by setting; the whole record where no definition explains it, or where bits
/// that none names are altered. What was there before is what the write before it left, or what was read since then.
pub fn written(state: &State, definitions: &DefinitionSet, writes: &[WireWrite], place: usize) -> Vec<WriteLine> {
    let write = &writes[place];
    let sides = [held_before(writes, place), write.written.as_ref(), write.read_back.as_ref()];
    let identity = state.identity(&write.module);
    let definition = definitions.fitting(&write.module, &identity).ok().flatten();
    let mut lines: Vec<WriteLine> = definition.map_or_else(Vec::new, |it| settings(it, write, sides));
    if lines.is_empty() || definition.is_some_and(|definition| alters_unnamed(definition, write, sides)) {
        let values = sides.map(|bytes| bytes.map(|bytes| short_bytes(Some(bytes))));
        lines.push(WriteLine { what: format!("{}:{}", write.module, write.record), values });
    }
    lines
}

fn settings(definition: &Definition, write: &WireWrite, sides: [Option<&HexBytes>; 3]) -> Vec<WriteLine> {
    let mut lines = Vec::new();
    for setting in definition.settings_in(&write.record) {
        let content = |bytes: &HexBytes| Content::decoded(setting, definition.id(), bytes.as_slice());
        let values = sides.map(|bytes| bytes.and_then(content));
        let differ =
            |a: &Option<Content>, b: &Option<Content>| a.as_ref().zip(b.as_ref()).is_some_and(|(a, b)| !a.same(b));
        // Where what was written is not in the log, what was read again tells it.
        let unknown = values[1].is_none() && differ(&values[0], &values[2]);
        if unknown || differ(&values[0], &values[1]) || differ(&values[1], &values[2]) {
            let values = values.map(|value| value.map(|value| value.to_string()));
            lines.push(WriteLine { what: setting.path().to_string(), values });
        }
    }
    lines
}

/// Whether bits differ that no definition names.
fn alters_unnamed(definition: &Definition, write: &WireWrite, sides: [Option<&HexBytes>; 3]) -> bool {
    let (Some(layout), Some(found), Some(written)) =
        (definition.record(&write.record), sides[0], sides[1].or(sides[2]))
    else {
        return false;
    };
    let mut mask = asfound_core::value::BitMask::differing(found.as_slice(), written.as_slice());
    mask.remove(layout.named());
    mask.remove(layout.volatile());
    layout.checksum().into_iter().for_each(|checksum| mask.remove(&checksum.mask(layout.length())));
    !mask.is_empty()
}

/// What a write was about, in one line with its time.
pub fn write_line(
    state: &State,
    definitions: &DefinitionSet,
    writes: &[WireWrite],
    place: usize,
    offset: UtcOffset,
) -> String {
    let list = written(state, definitions, writes, place).into_iter().map(|line| {
        let [found, written, again] = line.values;
        // Where what was written is not in the log, what was read again tells it.
        let [found, left] = [found, written.or(again)].map(|value| value.unwrap_or_else(|| "?".to_owned()));
        format!("{} {found} -> {left}", line.what)
    });
    format!("{}: {}", date_and_clock(writes[place].at, offset), list.collect::<Vec<_>>().join(", "))
}

/// What in the log was mended, in words.
pub fn mended_text(mended: &[Mending]) -> String {
    let word = |one: &Mending| match one {
        Mending::PartMissing => "a part of the request is missing from the log, the read-back tells the bytes",
        Mending::RequestMissing => "the request is not in the log, the read-back tells the bytes",
        Mending::OutOfOrder => "frames of one moment stand in another order than they came",
        Mending::AcrossLogs => "a message goes on in the next log",
        Mending::Doubled => "frames stand in the log twice",
    };
    mended.iter().map(word).collect::<Vec<_>>().join("; ")
}

/// What came of a write.
pub fn answer_text(write: &WireWrite) -> String {
    match (write.answer, &write.refusal) {
        (WireAnswer::Refused, Some(code)) => {
            let code = code.as_slice().first().copied().unwrap_or_default();
            format!("refused: {}", Refusal(code))
        }
        (answer, _) => answer.to_string(),
    }
}

/// Who accounts for a write; `decided` is whether somebody said whose the others were.
pub fn accounted_for(writes: &[WireWrite], place: usize, decided: bool, filed: &BTreeSet<EntryNumber>) -> String {
    let write = &writes[place];
    // What was there already was altered by nobody.
    let altered = write.answer == WireAnswer::Accepted && altered(writes, place) != Some(false);
    match (write.entry, write.shown_by) {
        (Some(entry), _) if filed.contains(&entry) => format!("entry {entry}, new"),
        (Some(entry), _) => format!("entry {entry}"),
        (None, _) if write.own => "own work, as said".to_owned(),
        (None, _) if !decided => "nobody yet".to_owned(),
        (None, Some(reading)) => format!("another hand, seen {reading}"),
        (None, None) if altered => "another hand".to_owned(),
        (None, None) => NOTHING.to_owned(),
    }
}

/// What says which module it is.
pub fn how_text(how: &IdentifiedBy) -> String {
    match how {
        IdentifiedBy::Said => "as you say".to_owned(),
        IdentifiedBy::EarlierLog(entry) => format!("as in entry {entry}"),
        IdentifiedBy::Address => "by its diagnostic address".to_owned(),
        IdentifiedBy::Serial => "by its serial number".to_owned(),
        IdentifiedBy::PartNumber => "by its part number".to_owned(),
        IdentifiedBy::Definition(id) => format!("its part number fits {id}"),
    }
}

/// A module of which nothing tells which it is.
pub fn unplaced_line(heard: &BusSummary, one: &UnidentifiedModule) -> String {
    let module = &heard.modules[one.heard];
    let bus = module.bus.as_ref().map_or_else(String::new, |bus| format!(" on {bus}"));
    let records = counted(module.timeline.records.len(), "record", "records");
    let writes = counted(module.writes(), "write", "writes");
    let perhaps =
        one.perhaps.as_ref().map_or_else(String::new, |name| format!("; perhaps {name}, whose records read the same"));
    format!("{}{bus}: {records}, {writes}{perhaps}", module.said())
}

/// A span of time.
fn span(milliseconds: u64) -> String {
    let seconds = milliseconds / 1000;
    match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, 0) => format!("{milliseconds} ms"),
        (0, 0, seconds) => format!("{seconds} s"),
        (0, minutes, seconds) => format!("{minutes} min {seconds} s"),
        (hours, minutes, _) if hours < 48 => format!("{hours} h {minutes} min"),
        (hours, ..) => format!("{} days {} h", hours / 24, hours % 24),
    }
}

/// What is found of the clocks, in sentences.
pub fn clock_lines(clock: &Clock) -> Vec<String> {
    let mut lines = Vec::new();
    let than = |later: i64| if later < 0 { "earlier" } else { "later" };
    if let Some(put) = clock.put_later_ms {
        lines.push(format!("the log's times are put {} {}", span(put.unsigned_abs()), than(put)));
    }
    if let Some(later) = clock.journal_later_ms {
        let count = counted(clock.found, "write", "writes");
        let mut text = match later {
            -999..=999 => format!("the journal's times are those of the log ({count})"),
            later => format!(
                "the journal's times are {} {} than the log's ({count})",
                span(later.unsigned_abs()),
                than(later)
            ),
        };
        if clock.spread_ms > 0 {
            text.push_str(&format!(", give or take {}", span(clock.spread_ms.unsigned_abs())));
        }
        lines.push(text);
    }
    if lines.is_empty() {
        lines.push("the log's own; nothing in the journal is found again that it could be held against".to_owned());
    }
    lines
}

/// What is not taken over, and why.
pub fn left_out_text(left_out: &LeftOut) -> String {
    match left_out {
        LeftOut::Later { module, record, entry } => {
            format!(
                "{module} record {record}: entry {entry} tells of it later, so nothing is made of what the log says"
            )
        }
        LeftOut::Length { module, record, found, expected } => {
            format!("{module} record {record}: {found} bytes, its definition says {expected}; it is not taken over")
        }
    }
}

/// What the logs do not tell.
pub fn cannot_tell_text(one: &CannotTell, writes: &[WireWrite], offset: UtcOffset) -> String {
    let at = |place: usize| {
        let write = &writes[place];
        format!("{} record {}, written at {}", write.module, write.record, clock_text(write.at, offset))
    };
    match one {
        CannotTell::Mended(place) => {
            format!("{}: mended, since {}", at(*place), mended_text(&writes[*place].mended))
        }
        CannotTell::WhetherWritten(place) => {
            format!(
                "{}: no answer and no read-back in the log; it may have been written or not. Read the module",
                at(*place)
            )
        }
        CannotTell::NotAnswered(place) => {
            format!("{}: no answer in the log, but it was read back as written", at(*place))
        }
        CannotTell::WhatWasWritten(place) => {
            format!("{}: accepted, but what was written is not in the log", at(*place))
        }
        CannotTell::ReadBackOtherwise(place) => format!("{}: something else was read back", at(*place)),
        CannotTell::NotReadBack(place) => {
            format!("{}: accepted, and not read back. Read the module and file it", at(*place))
        }
        CannotTell::NotReadBefore(place) => {
            format!("{}: what was there before is neither in the log nor in the journal", at(*place))
        }
        CannotTell::WithoutRequest(module, count) => format!(
            "{module}: {} without its request: the log starts in the middle, or frames are missing",
            counted(usize::try_from(*count).unwrap_or(usize::MAX), "answer", "answers")
        ),
        CannotTell::WithoutAnswer(module, count) => format!(
            "{module}: {} without an answer in the log",
            counted(usize::try_from(*count).unwrap_or(usize::MAX), "request", "requests")
        ),
        CannotTell::NotToldApart(module, count) => {
            format!("{module}: {} with several records that cannot be told apart", counted(*count, "answer", "answers"))
        }
        CannotTell::Broken(count) => format!(
            "{} did not get through",
            counted(usize::try_from(*count).unwrap_or(usize::MAX), "message", "messages")
        ),
    }
}
