//! The model of a change journal for vehicle settings.

pub mod definition;
pub mod document;
pub mod layout;
pub mod names;
pub mod safety;
pub mod value;
