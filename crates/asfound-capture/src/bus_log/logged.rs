//! What the logs tell of each record: writes with what was read before and after, and what was read first and last.

use asfound_core::entry::{Mending, WireAction, WireAnswer, WireGap, WireMovement, WireWrite, altered, held_before};
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::value::HexBytes;
use asfound_wire::conversation::{
    ActionKind, ModuleTimeline, RecordHappening, RecordTimeline, WriteOutcome, WriteStory,
};
use asfound_wire::frame::Timestamp;
use time::{Duration, OffsetDateTime};

use super::action_words::action;
use super::address::tester_text;
use super::moved_between::movements;
use super::tester::Tester;
use super::{BusSummary, ModuleIdentification};

/// So many other things that were done are kept of each log's module.
const MOST_ACTIONS: usize = 500;

/// A write, and where it stands in the logs.
#[derive(Debug, Clone)]
pub(super) struct LoggedWrite {
    pub(super) number: u64,
    pub(super) write: WireWrite,
    /// Who asked, where the logs tell it.
    pub(super) tester: Option<Tester>,
    /// What the record held before it: what was read last, or what the write before it left.
    pub(super) before: Option<HexBytes>,
    /// The reading of that; nothing where it was not read.
    pub(super) read_before: Option<LoggedRead>,
    /// Whether it altered the record, as far as the logs tell.
    pub(super) altered: Option<bool>,
}

/// When something was read, where the logs tell it.
#[derive(Debug, Clone, Copy)]
pub(super) struct LoggedRead(pub(super) Option<OffsetDateTime>);

/// Some bytes that were read.
#[derive(Debug, Clone)]
pub(super) struct SeenBytes {
    pub(super) bytes: Vec<u8>,
    pub(super) at: Option<OffsetDateTime>,
    pub(super) number: u64,
}

/// What was read of one record.
#[derive(Debug, Clone)]
pub(super) struct LoggedRecord {
    pub(super) module: ModuleName,
    pub(super) record: u16,
    /// What was read first, if no write of it came before.
    pub(super) before: Option<SeenBytes>,
    /// What was read last, if no write of it came after.
    pub(super) after: Option<SeenBytes>,
    /// Where the module refused to give it, if it never did.
    pub(super) refused: Option<(u64, Option<OffsetDateTime>)>,
}

/// Everything that the logs tell of modules that are known by name, by the clock of the logs.
#[derive(Debug, Clone, Default)]
pub(super) struct LoggedEvents {
    later: Duration,
    /// When everything was, where the logs tell no time.
    otherwise: Option<OffsetDateTime>,
    pub(super) writes: Vec<LoggedWrite>,
    pub(super) records: Vec<LoggedRecord>,
    pub(super) actions: Vec<WireAction>,
    pub(super) moved: Vec<WireMovement>,
}

/// A moment of a log as a date, to the millisecond.
pub(super) fn date(moment: Option<Timestamp>) -> Option<OffsetDateTime> {
    let milliseconds = moment?.nanoseconds() / 1_000_000;
    OffsetDateTime::from_unix_timestamp_nanos(i128::from(milliseconds) * 1_000_000).ok()
}

impl LoggedEvents {
    pub(super) fn of(heard: &BusSummary, placing: &ModuleIdentification) -> Self {
        let mut told = Self::default();
        let mut actions: Vec<(u64, WireAction)> = Vec::new();
        for placed in &placing.placed {
            let timeline = &heard.modules[placed.heard].timeline;
            for (record, events) in &timeline.records {
                told.record(&placed.module, *record, events);
            }
            actions.extend(actions_of(&placed.module, timeline));
            told.moved.extend(movements(heard, &placed.module, timeline));
        }
        told.writes.sort_by_key(|told| told.number);
        told.hold_against_each_other();
        actions.sort_by_key(|(number, _)| *number);
        told.actions = actions.into_iter().map(|(_, action)| action).collect();
        told
    }

    /// Puts all times later; `otherwise` is when everything was, where the logs tell no time.
    pub(super) fn put_later(&mut self, later: Duration, otherwise: Option<OffsetDateTime>) {
        (self.later, self.otherwise) = (later, otherwise);
        let shifted = |at: &mut Option<OffsetDateTime>| *at = at.map(|at| at + later).or(otherwise);
        for told in &mut self.writes {
            shifted(&mut told.write.at);
            told.read_before.iter_mut().for_each(|read| shifted(&mut read.0));
        }
        self.actions.iter_mut().for_each(|action| shifted(&mut action.at));
        self.moved.iter_mut().for_each(|moved| [&mut moved.from, &mut moved.until].into_iter().for_each(shifted));
        for told in &mut self.records {
            told.before.iter_mut().chain(&mut told.after).for_each(|seen| shifted(&mut seen.at));
            told.refused.iter_mut().for_each(|(_, at)| shifted(at));
        }
    }

    /// A time of the logs, put later likewise.
    pub(super) fn shifted(&self, at: Option<OffsetDateTime>) -> Option<OffsetDateTime> {
        at.map(|at| at + self.later).or(self.otherwise)
    }

    /// Says of each write what the record held before it: a write is judged against the one before it.
    fn hold_against_each_other(&mut self) {
        let writes: Vec<WireWrite> = self.writes.iter().map(|told| told.write.clone()).collect();
        for (place, told) in self.writes.iter_mut().enumerate() {
            told.before = held_before(&writes, place).cloned();
            told.altered = altered(&writes, place);
            let earlier = writes[..place].iter().rev().filter(|earlier| earlier.same_record(&writes[place]));
            let unread = earlier.take_while(|earlier| earlier.read_back.is_none());
            if unread.into_iter().any(|earlier| earlier.answer != WireAnswer::Refused) {
                told.read_before = None;
            }
        }
    }

    fn record(&mut self, module: &ModuleName, record: u16, events: &RecordTimeline) {
        for story in events.writes() {
            self.writes.push(LoggedWrite {
                number: story.number,
                write: write(module, record, &story),
                tester: story.tester.map(Tester),
                before: None,
                read_before: story.before.map(|(_, at)| LoggedRead(date(at))),
                altered: None,
            });
        }
        let all = events.events();
        // What was refused altered nothing.
        let made = |what: &RecordHappening| {
            matches!(what, RecordHappening::Write { outcome: WriteOutcome::Accepted | WriteOutcome::NoAnswer, .. })
        };
        let first_write = all.iter().position(|event| made(&event.what));
        let last_write = all.iter().rposition(|event| made(&event.what));
        let seen = |place: usize, last: bool| match &all[place].what {
            RecordHappening::Read(run) => Some(SeenBytes {
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
        self.records.push(LoggedRecord { module: module.clone(), record, before, after, refused });
    }
}

fn write(module: &ModuleName, record: u16, story: &WriteStory<'_>) -> WireWrite {
    let bytes = |bytes: &[u8]| HexBytes::from(bytes.to_vec());
    let (answer, refusal) = match story.outcome {
        WriteOutcome::Accepted => (WireAnswer::Accepted, None),
        WriteOutcome::Refused(why) => (WireAnswer::Refused, Some(HexBytes::from(vec![why.0]))),
        WriteOutcome::NoAnswer => (WireAnswer::None, None),
    };
    let gap = story.gap.map(|gap| WireGap {
        before: bytes(&gap.before),
        missing: gap.missing,
        after: (!gap.after.is_empty()).then(|| bytes(&gap.after)),
    });
    let mut mended: Vec<Mending> = story.mended.iter().map(mending).collect();
    if story.written.is_none() {
        mended.push(if gap.is_some() { Mending::PartMissing } else { Mending::RequestMissing });
    }
    mended.sort_unstable();
    WireWrite {
        at: date(story.at),
        found: story.before.map(|(found, _)| bytes(found)),
        written: story.written.map(bytes),
        refusal,
        read_back: story.after.map(|(after, _)| bytes(after)),
        tester: story.tester.map(tester_text),
        mended,
        gap,
        ..WireWrite::new(module.clone(), RecordName::Identifier(record), answer)
    }
}

fn mending(one: asfound_wire::transport::Mending) -> Mending {
    use asfound_wire::transport::Mending as InLog;
    match one {
        InLog::OutOfOrder => Mending::OutOfOrder,
        InLog::AcrossLogs => Mending::AcrossLogs,
        InLog::Doubled => Mending::Doubled,
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
