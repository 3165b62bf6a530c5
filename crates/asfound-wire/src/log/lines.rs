//! A text log, line by line, out of large blocks.

use std::io::{self, Read};

use super::candump::candump_line;
use super::fast_line::{FastLine, FastLineReader};
use super::sink::Sink;
use super::skip_ids::SkipIds;
use super::truncated::SourceEnd;
use super::{LineProblem, LogClock, LogFacts, LogForm, LogItem, LogPlace, LogProblem, ProblemKind};
use crate::frame::{CanFrame, Timestamp};

/// How much is read at once.
const BLOCK: usize = 1 << 18;
/// A line longer than this is no candump line. The longest has 64 bytes in columns.
const LONGEST: usize = 4096;

struct Lines<'t, S> {
    facts: LogFacts,
    frame: CanFrame,
    /// Nanoseconds since the log's beginning, where each line tells what has passed since the one before.
    elapsed: Option<u64>,
    usual: FastLineReader,
    /// How long the last line of the usual form was.
    length: usize,
    /// Buses that were given out.
    told: usize,
    ordinary: &'t SkipIds,
    /// Frames of ordinary identifiers that were not told yet.
    passed: u64,
    sink: &'t mut S,
}

impl<S: Sink> Lines<'_, S> {
    #[inline]
    fn line(&mut self, line: &[u8]) {
        if self.elapsed.is_none() && self.usual(line) {
            self.length = line.len();
        } else {
            self.unusual(line);
        }
    }

    /// Takes a line of the usual form; `false` where it is none, and nothing is done then.
    #[inline]
    fn usual(&mut self, line: &[u8]) -> bool {
        let Some(found) = self.usual.read(line, &self.facts.interfaces, self.ordinary, &mut self.frame) else {
            return false;
        };
        match found {
            FastLine::Frame => {
                // The moment of those before is no longer known, and of no account: this one is later in the log.
                self.tell_passed();
                self.facts.pieces += 1;
                self.frame();
            }
            FastLine::Ordinary => self.pass_over(),
        }
        true
    }

    fn unusual(&mut self, line: &[u8]) {
        self.tell_passed();
        self.facts.pieces += 1;
        if line.len() > LONGEST {
            return self.problem(LineProblem::LongLine.into());
        }
        match candump_line(line, &mut self.facts.interfaces, &mut self.frame) {
            Ok(true) => {
                if let (Some(elapsed), Some(passed)) = (&mut self.elapsed, self.frame.moment) {
                    *elapsed = elapsed.saturating_add(passed.nanoseconds());
                    self.frame.moment = Some(Timestamp::from_nanoseconds(*elapsed));
                }
                self.frame();
            }
            Ok(false) => {}
            Err(problem) => self.problem(ProblemKind::Line(problem)),
        }
    }

    fn frame(&mut self) {
        self.facts.frames += 1;
        self.facts.saw(self.frame.moment);
        if self.facts.interfaces.count() != self.told {
            self.tell_bus();
        }
        self.sink.item(LogItem::Frame(&self.frame));
    }

    fn pass_over(&mut self) {
        self.passed += 1;
        if self.facts.first.is_none() {
            self.facts.saw(Some(self.usual.moment()));
        }
    }

    /// Takes a line that is like the one before and is passed over; `false` where it is not so, and nothing is done then.
    #[inline]
    fn skim(&mut self, line: &[u8]) -> bool {
        let passes = self.facts.first.is_some() && self.usual.skim(line, self.ordinary);
        self.passed += u64::from(passes);
        passes
    }

    /// Lines that were passed over are told before anything else is.
    fn tell_passed(&mut self) {
        if self.passed > 0 {
            self.facts.pieces += self.passed;
            self.facts.frames += self.passed;
            self.facts.saw(Some(self.usual.moment()));
            self.sink.item(LogItem::Ordinary(std::mem::take(&mut self.passed)));
        }
    }

    #[cold]
    fn tell_bus(&mut self) {
        for interface in self.facts.interfaces.since(self.told) {
            self.sink.item(LogItem::Bus(interface, self.facts.interfaces.name(interface)));
        }
        self.told = self.facts.interfaces.count();
    }

    #[cold]
    fn problem(&mut self, what: ProblemKind) {
        self.tell_passed();
        *self.facts.problems.entry(what).or_default() += 1;
        self.sink.item(LogItem::Problem(LogProblem { place: LogPlace::Line(self.facts.pieces), what }));
    }
}

pub(super) fn read(
    mut source: impl Read,
    clock: LogClock,
    ending: &SourceEnd,
    ordinary: &SkipIds,
    sink: &mut impl Sink,
) -> io::Result<LogFacts> {
    let mut lines = Lines {
        facts: LogFacts { clock, ..LogFacts::new(LogForm::Candump) },
        elapsed: (clock == LogClock::LineBefore).then_some(0),
        frame: CanFrame::empty(),
        usual: FastLineReader::default(),
        length: 0,
        told: 1,
        ordinary,
        passed: 0,
        sink,
    };
    let mut block = vec![0; BLOCK];
    // `block[..kept]` is the beginning of a line whose end has not been read yet.
    let mut kept = 0;
    // Inside a line that was too long.
    let mut passing = false;
    loop {
        lines.tell_passed();
        lines.sink.pause();
        let read = source.read(&mut block[kept..])?;
        if read == 0 {
            break;
        }
        let text = &block[..kept + read];
        let mut start = 0;
        loop {
            // Most lines are as long as the one before. No line of the usual form has a line end inside.
            let guess = start + lines.length;
            if text.get(guess) == Some(&b'\n') && !passing {
                let line = &text[start..guess];
                if lines.skim(line) || lines.usual(line) {
                    start = guess + 1;
                    continue;
                }
            }
            // The kept part has no line end, as the last search found.
            let from = start.max(kept);
            let Some(end) = memchr::memchr(b'\n', &text[from..]).map(|end| from + end) else { break };
            if passing {
                passing = false;
            } else {
                lines.line(&text[start..end]);
            }
            start = end + 1;
        }
        let filled = text.len();
        block.copy_within(start..filled, 0);
        kept = filled - start;
        if passing {
            kept = 0;
        } else if kept > LONGEST {
            lines.facts.pieces += 1;
            lines.problem(LineProblem::LongLine.into());
            passing = true;
            kept = 0;
        }
    }
    if kept > 0 {
        lines.line(&block[..kept]);
    }
    lines.tell_passed();
    if ending.broke_off()? {
        lines.problem(ProblemKind::Cut);
    }
    Ok(lines.facts)
}
