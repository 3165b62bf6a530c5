//! The life of every field of a vehicle, and how well each alteration is proven.

mod by_time;
mod chain;
mod chronology;
mod corrections;
mod coverage;
mod field;
mod log_writes;
mod moments;
mod one_setting;
mod open_steps;
mod proof;
mod recomputed;
mod summary;
mod timeline;
mod timelines;
mod trace;
mod tracer;
mod undeclared;
mod units;
mod unordered;

pub use field::{Doubt, Field, HandKind, Origin, Transition};
pub use log_writes::LogWrite;
pub use one_setting::OneSetting;
pub use open_steps::{OpenStep, OpenSteps};
pub use proof::{ContentStatus, Proof};
pub use timeline::Timeline;
pub use timelines::Timelines;
pub use trace::{History, HistoryBuilder, HistoryError};
pub(crate) use tracer::hand_kind;
