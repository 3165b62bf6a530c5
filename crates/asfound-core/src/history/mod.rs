//! The life of every field of a vehicle, and how well each alteration is proven.

mod by_time;
mod chain;
mod chronology;
mod corrections;
mod coverage;
mod field;
mod moments;
mod one_setting;
mod open_steps;
mod proof;
mod retold;
mod summary;
mod timeline;
mod timelines;
mod trace;
mod tracer;
mod undeclared;
mod units;
mod unordered;
mod wire;

pub use field::{Doubt, Field, HandKind, Origin, Transition};
pub use one_setting::OneSetting;
pub use open_steps::{OpenStep, OpenSteps};
pub use proof::{Proof, Standing};
pub use timeline::Timeline;
pub use timelines::Timelines;
pub use trace::{History, HistoryError, Tracing};
pub(crate) use tracer::hand_kind;
pub use wire::OnTheWire;
