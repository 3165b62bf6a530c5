//! What the logs tell of each record: writes with what was read before and after, and what was read first and last.

use asfound_core::entry::{WireAction, WireAnswer, WireWrite};
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::value::HexBytes;
use asfound_wire::conversation::{ActionKind, ModuleTimeline, RecordHappening, RecordTimeline, WriteOutcome};
use asfound_wire::frame::Moment;
use time::{Duration, OffsetDateTime};

use super::words::action;
use super::{Heard, Placing};

/// So many other things that were done are kept of each log's module.
const MOST_ACTIONS: usize = 500;

/// A write, and where it stands in the logs.
#[derive(Debug, Clone)]
pub(super) struct WriteTold {
    pub(super) number: u64,
    pub(super) write: WireWrite,
}

/// Some bytes that were read.
#[derive(Debug, Clone)]
pub(super) struct Seen {
    pub(super) bytes: Vec<u8>,
    pub(super) at: Option<OffsetDateTime>,
    pub(super) number: u64,
}

/// What was read of one record.
#[derive(Debug, Clone)]
pub(super) struct RecordTold {
    pub(super) module: ModuleName,
    pub(super) record: u16,
    /// What was read first, if no write of it came before.
    pub(super) before: Option<Seen>,
    /// What was read last, if no write of it came after.
    pub(super) after: Option<Seen>,
    /// Where the module refused to give it, if it never did.
    pub(super) refused: Option<(u64, Option<OffsetDateTime>)>,
}

/// Everything that the logs tell of modules that are known by name, by the clock of the logs.
#[derive(Debug, Clone, Default)]
pub(super) struct Told {
    later: Duration,
    /// When everything was, where the logs tell no time.
    otherwise: Option<OffsetDateTime>,
    pub(super) writes: Vec<WriteTold>,
    pub(super) records: Vec<RecordTold>,
    pub(super) actions: Vec<WireAction>,
}

/// A moment of a log as a date, to the millisecond.
pub(super) fn date(moment: Option<Moment>) -> Option<OffsetDateTime> {
    let milliseconds = moment?.nanoseconds() / 1_000_000;
    OffsetDateTime::from_unix_timestamp_nanos(i128::from(milliseconds) * 1_000_000).ok()
}

impl Told {
    pub(super) fn of(heard: &Heard, placing: &Placing) -> Self {
        let mut told = Self::default();
        let mut actions: Vec<(u64, WireAction)> = Vec::new();
        for placed in &placing.placed {
            let timeline = &heard.modules[placed.heard].timeline;
            for (record, events) in &timeline.records {
                told.record(&placed.module, *record, events);
            }
            actions.extend(actions_of(&placed.module, timeline));
        }
        told.writes.sort_by_key(|told| told.number);
        actions.sort_by_key(|(number, _)| *number);
        told.actions = actions.into_iter().map(|(_, action)| action).collect();
        told
    }

    /// Puts all times later; `otherwise` is when everything was, where the logs tell no time.
    pub(super) fn put_later(&mut self, later: Duration, otherwise: Option<OffsetDateTime>) {
        (self.later, self.otherwise) = (later, otherwise);
        let shifted = |at: &mut Option<OffsetDateTime>| *at = at.map(|at| at + later).or(otherwise);
        self.writes.iter_mut().for_each(|told| shifted(&mut told.write.at));
        self.actions.iter_mut().for_each(|action| shifted(&mut action.at));
        for told in &mut self.records {
            told.before.iter_mut().chain(&mut told.after).for_each(|seen| shifted(&mut seen.at));
            told.refused.iter_mut().for_each(|(_, at)| shifted(at));
        }
    }

    /// A time of the logs, put later likewise.
    pub(super) fn shifted(&self, at: Option<OffsetDateTime>) -> Option<OffsetDateTime> {
        at.map(|at| at + self.later).or(self.otherwise)
    }

    fn record(&mut self, module: &ModuleName, record: u16, events: &RecordTimeline) {
        let is_write = |what: &RecordHappening| matches!(what, RecordHappening::Write { .. });
        let numbers = events.events().iter().filter(|event| is_write(&event.what)).map(|event| event.number);
        for (number, story) in numbers.zip(events.writes()) {
            let bytes = |bytes: &[u8]| HexBytes::from(bytes.to_vec());
            let (answer, refusal) = match story.outcome {
                WriteOutcome::Accepted => (WireAnswer::Accepted, None),
                WriteOutcome::Refused(why) => (WireAnswer::Refused, Some(HexBytes::from(vec![why.0]))),
                WriteOutcome::NoAnswer => (WireAnswer::None, None),
            };
            let write = WireWrite {
                module: module.clone(),
                record: RecordName::Identifier(record),
                at: date(story.at),
                found: story.before.map(|(found, _)| bytes(found)),
                written: story.written.map(bytes),
                answer,
                refusal,
                read_back: story.after.map(|(after, _)| bytes(after)),
                entry: None,
                shown_by: None,
            };
            self.writes.push(WriteTold { number, write });
        }
        let all = events.events();
        // What was refused altered nothing.
        let made = |what: &RecordHappening| {
            matches!(what, RecordHappening::Write { outcome: WriteOutcome::Accepted | WriteOutcome::NoAnswer, .. })
        };
        let first_write = all.iter().position(|event| made(&event.what));
        let last_write = all.iter().rposition(|event| made(&event.what));
        let seen = |place: usize, last: bool| match &all[place].what {
            RecordHappening::Read(run) => Some(Seen {
                bytes: run.bytes.clone(),
                at: date(if last { run.until.or(all[place].at) } else { all[place].at }),
                number: all[place].number,
            }),
            _ => None,
        };
        let before = (0..first_write.unwrap_or(all.len())).find_map(|place| seen(place, false));
        let after = (last_write.map_or(0, |place| place + 1)..all.len()).rev().find_map(|place| seen(place, true));
        let refusal = all.iter().find(|event| matches!(event.what, RecordHappening::ReadRefused(_)));
        let never = before.is_none() && after.is_none() && first_write.is_none();
        let refused = refusal.filter(|_| never).map(|event| (event.number, date(event.at)));
        self.records.push(RecordTold { module: module.clone(), record, before, after, refused });
    }
}

/// What else was done to a module. The same thing again and again is told once.
fn actions_of(module: &ModuleName, timeline: &ModuleTimeline) -> Vec<(u64, WireAction)> {
    let mut list: Vec<(u64, ActionKind, WireAction)> = Vec::new();
    for one in &timeline.actions {
        let answer = match one.accepted {
            Some(true) => WireAnswer::Accepted,
            Some(false) => WireAnswer::Refused,
            None => WireAnswer::None,
        };
        let again = list.last().is_some_and(|(_, kind, last)| *kind == one.kind && last.answer == answer);
        if again || list.len() >= MOST_ACTIONS {
            continue;
        }
        let mut what = action(one.kind);
        if let Some(why) = one.refusal {
            what.push_str(&format!(" ({why})"));
        }
        list.push((one.number, one.kind, WireAction { module: module.clone(), at: date(one.at), what, answer }));
    }
    list.into_iter().map(|(number, _, action)| (number, action)).collect()
}
