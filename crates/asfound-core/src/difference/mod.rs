//! What differs between two contents of a record, and between two states of a vehicle.

mod align;
mod altered_bits;
mod compare;
mod content;
mod identity;
mod record;
mod reinterpreted;
mod sides;

pub use align::{ByteRun, align};
pub use altered_bits::{AlteredBits, AlteredRun};
pub use compare::{CodeComparison, Comparison, ComparisonVerdict, ModuleComparison, RecordComparison, compare};
pub use content::Content;
pub use identity::{IdentityDifference, identity_differences};
pub use record::{RecordDifference, SettingDifference, UndecidedSetting, differ, same_layout};
pub use reinterpreted::{ReinterpretedSetting, ShownSetting, reinterpreted};
pub use sides::{ModuleSnapshot, settings_of};
