//! Log files in: frames and messages out, with every piece that could not be read.

mod candump;
mod capture;
mod clock;
mod columns;
mod cooked;
mod facts;
mod hex;
mod lines;
mod problem;
mod read;
mod socketcan;
mod tolerant;
mod unpack;
mod usual;
mod write;

pub use candump::{LineProblem, candump_line};
pub use facts::{LogFacts, LogForm};
pub use problem::{LogProblem, Place, ProblemKind};
pub use read::{LogError, LogItem, read_log};
pub use write::candump_text;
