//! What a setting can do to people: tags, the classes of care, and cautions.

mod caution;
mod class;
mod role;
mod tag;
mod words;

pub use caution::GENERAL_CAUTIONS;
pub use class::SafetyClass;
pub use role::{role_tags, systems_in_name};
pub use tag::{SafetyTag, UnknownSafetyTag};
