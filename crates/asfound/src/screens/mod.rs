//! What commands show: one value each, as text for people and as JSON for programs.

pub mod audited;
pub mod comparison;
pub mod corrected;
pub mod definitions;
pub mod enrolled;
pub mod entries;
pub mod entry;
pub mod explained;
pub mod noted;
pub mod plan_sheet;
pub mod reading_filed;
pub mod settings;
pub mod shared;
pub mod vehicles;
pub mod work_filed;
