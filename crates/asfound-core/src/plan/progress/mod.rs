//! Walking a plan: what happened so far gives what to ask next.
//!
//! A [`GuidedRun`] is a function of the plan's steps and the [`Event`]s so far. Whoever walks it appends every event to a
//! file that survives a power cut before the next question is asked; read again, the file gives the same walk. The
//! event that matters most is [`Event::Asked`]: once it is there, the write may have been made.

mod event;
mod guided_run;
mod outcome;

pub use event::{Event, EventError};
pub use guided_run::{GuidedRun, GuidedRunError, NextAction};
