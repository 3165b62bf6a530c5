//! Whether work has stood its trial: derived from the whole history, never stored.
//!
//! Work is on trial until readings that were taken after the vehicle was driven show that every setting it altered
//! holds, and no new trouble code in any module that they scanned; the modules that were altered must be among these.

mod driven;
mod run;
mod scans;

pub use driven::driven_after;
pub(crate) use driven::{Done, driven_since};
pub use run::{NewCode, Trial, TrialState, Trials, Tried, Waiting, trials};
pub(crate) use scans::Scans;
