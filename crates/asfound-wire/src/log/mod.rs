//! Log files in: frames and messages out, with every piece that could not be read.

mod candump;
mod capture;
mod clock;
mod columns;
mod digits;
mod exported;
mod facts;
mod fast_line;
mod hex;
mod lines;
mod linux_sll;
mod log_clock;
mod other_form;
mod read;
mod read_ahead;
mod sink;
mod skip_ids;
mod socketcan;
mod text_source;
mod together;
mod truncated;
mod unpack;
mod write;

pub use crate::problem::{LineProblem, LogPlace, LogProblem, ProblemKind};
pub use candump::candump_line;
pub use facts::{LogFacts, LogForm};
pub use log_clock::LogClock;
pub use other_form::OtherForm;
pub use read::{LogError, LogItem, read_log, read_log_passing_over};
pub use read_ahead::read_log_ahead;
pub use skip_ids::SkipIds;
pub use together::{first_moment, read_logs_together, tells_a_date};
pub use write::candump_text;
