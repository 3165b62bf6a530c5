//! Log files in: frames and messages out, with every piece that could not be read.

mod ahead;
mod candump;
mod capture;
mod clock;
mod columns;
mod cooked;
mod digits;
mod facts;
mod hex;
mod lines;
mod ordinary;
mod problem;
mod read;
mod sink;
mod socketcan;
mod together;
mod tolerant;
mod unpack;
mod usual;
mod write;

pub use ahead::read_log_ahead;
pub use candump::{LineProblem, candump_line};
pub use facts::{LogFacts, LogForm};
pub use ordinary::OrdinaryIds;
pub use problem::{LogProblem, Place, ProblemKind};
pub use read::{LogError, LogItem, read_log, read_log_passing_over};
pub use together::{first_moment, read_logs_together, tells_a_date};
pub use write::candump_text;
