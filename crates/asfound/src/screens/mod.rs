//! What commands show: one value each, as text for people and as JSON for programs.

pub mod audited;
pub mod bytes_side_by_side;
pub mod comparison;
pub mod corrected;
pub mod definitions;
pub mod disclosure;
pub mod enrolled;
pub mod entries;
pub mod entry;
pub mod explained;
pub mod extension;
pub mod held_against;
pub mod keys;
pub mod noted;
pub mod plan_sheet;
pub mod reading_filed;
pub mod seal;
pub mod settings;
pub mod share;
pub mod shared;
pub mod signature;
pub mod tidied;
pub mod vehicles;
pub mod walked;
pub mod work_filed;
pub mod work_sheet;
