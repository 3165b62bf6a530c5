//! Whether work has stood its trial: derived from the whole history, never stored.
//!
//! Work is on trial until readings that were taken after the vehicle was driven show that every setting it altered
//! holds, and no new trouble code in any module that they scanned; the modules that were altered must be among these.

mod scans;
mod trials;
mod work_time;

pub(crate) use scans::Scans;
pub use trials::{JournalTrials, NewCode, Trial, TrialBlocker, TrialBuilder, TrialState, trials};
pub use work_time::driven_after;
pub(crate) use work_time::{WorkTime, driven_since};
