//! What differs between two contents of a record, and between two states of a vehicle.

mod align;
mod compare;
mod content;
mod record;
mod sides;

pub use align::{ByteRun, align};
pub use compare::{
    CodeComparison, Comparison, IdentityDifference, ModuleComparison, RecordComparison, Verdict, compare,
};
pub use content::Content;
pub use record::{RecordDifference, SettingDifference, differ, same_layout};
pub use sides::{Side, settings_of};
