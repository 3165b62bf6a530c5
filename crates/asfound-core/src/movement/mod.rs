//! Bits that change without anybody writing them: measured values, counters, clocks.
//!
//! Most bits of a car are named by no definition, and many of them are no settings. Which ones are found by evidence: a bus
//! log in which a record was read with other content and no write in between, or two readings of one sitting without
//! work in between. What is known of the bits follows from the entries each time; no verdict is stored.
//!
//! Bits that were seen to move accuse nobody. Bits that somebody wrote afterwards are settings. Of all others
//! nobody can tell. Which bits a definition names is none of this module's business: callers leave those out.

mod activity_times;
mod contents;
mod evidence;
mod observer;
mod record_movement;
mod steps;

pub use evidence::{Movement, MovementEvidence, SortedBits};
pub(crate) use observer::same_software;
pub use observer::{MovementObserver, Movements};
