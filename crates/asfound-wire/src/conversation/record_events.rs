//! What happened to one record.

use super::TesterAddress;
use crate::frame::Timestamp;
use crate::service::Refusal;
use crate::transport::Mendings;

/// What came of a write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WriteOutcome {
    /// The module answered that it is written.
    Accepted,
    /// The module refused.
    Refused(Refusal),
    /// No answer is in the log: whether it was written cannot be told from this alone.
    NoAnswer,
}

/// The same bytes, read one or more times without anything between.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadRun {
    /// What was read.
    pub bytes: Vec<u8>,
    /// How often.
    pub times: u32,
    /// When last.
    pub until: Option<Timestamp>,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RecordHappening {
    /// It was read.
    Read(ReadRun),
    /// It was to be read, and the module refused.
    ReadRefused(Refusal),
    /// It was to be read, and no answer is in the log.
    ReadUnanswered,
    /// It was to be written.
    Write {
        /// The bytes; `None` where the request is not in the log.
        bytes: Option<Vec<u8>>,
        /// What came of it.
        outcome: WriteOutcome,
    },
}

/// What is left of a request to write, of which a part is not in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WriteGap {
    /// The bytes before what is missing.
    pub before: Vec<u8>,
    /// How many are missing.
    pub missing: u32,
    /// The bytes behind it.
    pub after: Vec<u8>,
}

/// One thing that happened to a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordEvent {
    /// When it was asked for, or answered where the request is not in the log.
    pub at: Option<Timestamp>,
    /// Where in the log, see [`Message::number`](crate::listening::Message::number).
    pub number: u64,
    /// What.
    pub what: RecordHappening,
    /// Who asked, where it was to be written and the log tells it.
    pub tester: Option<TesterAddress>,
    /// What in the log was put right to make it out.
    pub mended: Mendings,
    /// What is left of the request, where it was to be written and a part of that is missing.
    pub gap: Option<Box<WriteGap>>,
}

/// Everything that happened to one record, in the order of the log.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RecordTimeline {
    events: Vec<RecordEvent>,
    /// The place after the last write.
    since: usize,
    /// Values that were read between others and are not listed, because the record changed too often.
    not_listed: u64,
}

/// One write with what was read before and after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WriteStory<'a> {
    /// What was read last before it, with the moment of the last reading.
    pub before: Option<(&'a [u8], Option<Timestamp>)>,
    /// The bytes written; `None` where the request is not in the log.
    pub written: Option<&'a [u8]>,
    /// When.
    pub at: Option<Timestamp>,
    /// What came of it.
    pub outcome: WriteOutcome,
    /// What was read first after it and before the next write.
    pub after: Option<(&'a [u8], Option<Timestamp>)>,
    /// Where in the log.
    pub number: u64,
    /// Who asked, where the log tells it.
    pub tester: Option<TesterAddress>,
    /// What in the log was put right to make out the write or what was read after it.
    pub mended: Mendings,
    /// What is left of the request, where a part of it is missing.
    pub gap: Option<&'a WriteGap>,
}

impl WriteStory<'_> {
    /// Whether the read-back shows what was written; `None` where it was not read again or the bytes are unknown.
    pub fn read_back_agrees(&self) -> Option<bool> {
        Some(self.after?.0 == self.written?)
    }
}

/// Between two writes no more values than this are listed: the first half and the last half of them.
const MOST_BETWEEN: usize = 64;
/// And no more events than this altogether; the first half and the last half of them.
const MOST_EVENTS: usize = 10_000;

/// What a module answered of a record, the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RecordAnswer {
    /// It gave its bytes, or accepted a write.
    Answered,
    /// It refused.
    Refused,
    /// The log has no answer.
    Silent,
}

impl RecordTimeline {
    /// What happened, in the order of the log.
    pub fn events(&self) -> &[RecordEvent] {
        &self.events
    }

    /// The same, taken out.
    pub(super) fn into_events(self) -> Vec<RecordEvent> {
        self.events
    }

    /// How many values are not listed.
    pub const fn not_listed(&self) -> u64 {
        self.not_listed
    }

    /// The bytes that were read first.
    pub fn first_read(&self) -> Option<&[u8]> {
        self.events.iter().find_map(RecordEvent::bytes_read)
    }

    /// The bytes that were read last.
    pub fn last_read(&self) -> Option<&[u8]> {
        self.events.iter().rev().find_map(RecordEvent::bytes_read)
    }

    /// What the module answered of it at the best.
    pub fn answer(&self) -> RecordAnswer {
        let answers = self.events.iter().map(|event| match event.what {
            RecordHappening::Read(_) | RecordHappening::Write { outcome: WriteOutcome::Accepted, .. } => {
                RecordAnswer::Answered
            }
            RecordHappening::ReadRefused(_) | RecordHappening::Write { outcome: WriteOutcome::Refused(_), .. } => {
                RecordAnswer::Refused
            }
            RecordHappening::ReadUnanswered | RecordHappening::Write { outcome: WriteOutcome::NoAnswer, .. } => {
                RecordAnswer::Silent
            }
        });
        answers.min().unwrap_or(RecordAnswer::Silent)
    }

    /// Each write with what was read before and after it.
    pub fn writes(&self) -> Vec<WriteStory<'_>> {
        let mut stories: Vec<WriteStory<'_>> = Vec::new();
        let mut before = None;
        for event in &self.events {
            match &event.what {
                RecordHappening::Read(run) => {
                    if let Some(story) = stories.last_mut().filter(|story| story.after.is_none()) {
                        story.after = Some((run.bytes.as_slice(), event.at));
                        story.mended = story.mended.and(event.mended);
                    }
                    before = Some((run.bytes.as_slice(), run.until));
                }
                RecordHappening::Write { bytes, outcome } => stories.push(WriteStory {
                    before,
                    written: bytes.as_deref(),
                    at: event.at,
                    outcome: *outcome,
                    after: None,
                    number: event.number,
                    tester: event.tester,
                    mended: event.mended,
                    gap: event.gap.as_deref(),
                }),
                RecordHappening::ReadRefused(_) | RecordHappening::ReadUnanswered => {}
            }
        }
        stories
    }

    /// Adds what a later log shows; `after` is how many frames and messages came before it.
    pub(super) fn then(&mut self, later: Self, after: u64) {
        self.not_listed += later.not_listed;
        later.events.into_iter().for_each(|event| self.add(RecordEvent { number: event.number + after, ..event }));
    }

    /// Adds what happened next. Equal things in a row are one.
    pub(super) fn add(&mut self, event: RecordEvent) {
        if let (RecordHappening::Read(new), Some(last)) = (&event.what, self.events.last_mut())
            && let RecordHappening::Read(run) = &mut last.what
            && run.bytes == new.bytes
        {
            run.times = run.times.saturating_add(new.times);
            run.until = run.until.max(new.until);
            return;
        }
        if let Some(last) = self.events.last()
            && !matches!(event.what, RecordHappening::Write { .. } | RecordHappening::Read(_))
            && last.what == event.what
        {
            return;
        }
        let is_write = matches!(event.what, RecordHappening::Write { .. });
        self.events.push(event);
        if is_write {
            self.since = self.events.len();
        }
        if self.events.len() - self.since > MOST_BETWEEN {
            self.events.remove(self.since + MOST_BETWEEN / 2);
            self.not_listed += 1;
        } else if self.events.len() > MOST_EVENTS {
            self.events.remove(MOST_EVENTS / 2);
            // With no more than so many values since the last write, that one stands behind the middle.
            self.since -= 1;
            self.not_listed += 1;
        }
    }

    /// Completes the write whose request did not get through: the first after `number` that was accepted, whose request is not in
    /// the log, and that is the next write there.
    pub(super) fn complete(&mut self, number: u64, at: Option<Timestamp>, tester: TesterAddress, gap: WriteGap) {
        let is_write = |event: &&mut RecordEvent| matches!(event.what, RecordHappening::Write { .. });
        let next = self.events.iter_mut().filter(|event| event.number > number).find(is_write);
        if let Some(event) = next.filter(|event| {
            let accepted = RecordHappening::Write { bytes: None, outcome: WriteOutcome::Accepted };
            event.what == accepted && event.gap.is_none()
        }) {
            (event.at, event.tester, event.gap) = (at.or(event.at), Some(tester), Some(Box::new(gap)));
        }
    }

    /// Puts events that were understood late into their places.
    pub(super) fn add_late(&mut self, late: Vec<RecordEvent>) {
        if late.is_empty() {
            return;
        }
        let mut events = std::mem::take(&mut self.events);
        self.since = 0;
        events.extend(late);
        events.sort_by_key(|event| event.number);
        for event in events {
            self.add(event);
        }
    }
}

impl RecordEvent {
    fn bytes_read(&self) -> Option<&[u8]> {
        match &self.what {
            RecordHappening::Read(run) => Some(&run.bytes),
            _ => None,
        }
    }
}
