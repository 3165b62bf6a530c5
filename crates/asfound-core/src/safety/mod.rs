//! What a setting can do to people: tags, the three classes, and cautions.

mod caution;
mod class;
mod role;
mod tag;

pub use caution::GENERAL_CAUTIONS;
pub use class::SafetyClass;
pub use role::role_tag;
pub use tag::{SafetyTag, UnknownSafetyTag};
