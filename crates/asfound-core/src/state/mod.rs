//! The last known content of every module: the fold of all entries.

mod apply;
mod known;
mod timing;

pub use apply::InvalidEffect;
pub use known::{KnownRecord, KnownSetting, ModuleState, ScannedCodes, State};
pub use timing::TimingRemark;
