//! The life of every field of a vehicle, and how well each alteration is proven.

mod corrections;
mod field;
mod proof;
mod summary;
mod timeline;
mod trace;

pub use field::{Field, HandKind, Origin, Transition};
pub use proof::{Proof, Standing};
pub use timeline::Timeline;
pub use trace::{History, HistoryError};
