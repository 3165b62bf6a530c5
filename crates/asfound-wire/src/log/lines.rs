//! A text log, line by line, out of large blocks.

use std::io::{self, Read};

use super::candump::candump_line;
use super::tolerant::Ending;
use super::{LineProblem, LogFacts, LogForm, LogItem, LogProblem, Place, ProblemKind};
use crate::frame::CanFrame;

/// How much is read at once.
const BLOCK: usize = 1 << 18;
/// A line longer than this is no candump line. The longest has 64 bytes in columns.
const LONGEST: usize = 4096;

struct Lines<'t> {
    facts: LogFacts,
    frame: CanFrame,
    /// Buses that were given out.
    told: usize,
    take: &'t mut dyn FnMut(LogItem<'_>),
}

impl Lines<'_> {
    #[inline]
    fn line(&mut self, line: &[u8]) {
        self.facts.pieces += 1;
        match candump_line(line, &mut self.facts.interfaces, &mut self.frame) {
            Ok(true) => {
                self.facts.frames += 1;
                self.facts.saw(self.frame.moment);
                if self.facts.interfaces.count() != self.told {
                    self.tell_bus();
                }
                (self.take)(LogItem::Frame(&self.frame));
            }
            Ok(false) => {}
            Err(problem) => self.problem(ProblemKind::Line(problem)),
        }
    }

    #[cold]
    fn tell_bus(&mut self) {
        for interface in self.facts.interfaces.since(self.told) {
            (self.take)(LogItem::Bus(interface, self.facts.interfaces.name(interface)));
        }
        self.told = self.facts.interfaces.count();
    }

    #[cold]
    fn problem(&mut self, what: ProblemKind) {
        *self.facts.problems.entry(what).or_default() += 1;
        (self.take)(LogItem::Problem(LogProblem { place: Place::Line(self.facts.pieces), what }));
    }
}

pub(super) fn read(mut source: impl Read, ending: &Ending, take: &mut dyn FnMut(LogItem<'_>)) -> io::Result<LogFacts> {
    let mut lines = Lines { facts: LogFacts::new(LogForm::Candump), frame: CanFrame::empty(), told: 1, take };
    let mut block = vec![0; BLOCK];
    // `block[..kept]` is the beginning of a line whose end has not been read yet.
    let mut kept = 0;
    // Inside a line that was too long.
    let mut passing = false;
    loop {
        let read = source.read(&mut block[kept..])?;
        if read == 0 {
            break;
        }
        let filled = kept + read;
        let mut start = 0;
        // The kept part has no line end, as the last search found.
        let mut from = kept;
        while let Some(end) = memchr::memchr(b'\n', &block[from..filled]).map(|end| from + end) {
            if passing {
                passing = false;
            } else {
                lines.line(&block[start..end]);
            }
            start = end + 1;
            from = start;
        }
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
    if ending.broke_off()? {
        lines.problem(ProblemKind::Cut);
    }
    Ok(lines.facts)
}
