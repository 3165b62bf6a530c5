//! Requests and responses between a tester and one module: no socket, no clock, only bytes and moments.

mod dialogue;
mod fit;
mod outcome;
mod pending;
mod timing;

pub use dialogue::{Dialogue, DialogueStep};
pub use outcome::{Outcome, Silence, Undelivered};
pub use timing::Timing;
