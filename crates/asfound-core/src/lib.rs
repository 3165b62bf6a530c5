//! The model of a change journal for vehicle settings: pure values, no input or output, no clock.
//!
//! What a vehicle's modules said becomes a [`reading`]; readings and work become [`entry`] values;
//! the fold of all entries is the [`state`]; [`history`] traces every field through them and derives
//! how well each alteration is proven; [`difference`] compares two states; [`plan`] works out how to
//! bring a vehicle to what is wanted; an [`work_order`] is the frame around the entries of one job. What bytes mean is told by a [`definition`], whose settings sit
//! in records by a [`layout`]. Raw bytes are permanent; their meaning is derived and can get better.

pub mod base32;
pub mod definition;
pub mod difference;
pub mod document;
pub mod entry;
pub mod examination;
pub mod history;
pub mod identity;
pub mod layout;
pub mod moment;
pub mod movement;
pub mod names;
pub mod plan;
pub mod reading;
pub mod safety;
pub mod sameness;
pub mod situation;
pub mod state;
pub mod suspects;
pub mod trial;
pub mod trouble_code;
pub mod value;
pub mod work_order;
