//! `asfound/enrolled/1`: what `enrol` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// A vehicle that was enrolled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Enrolled {
    /// The schema.
    pub schema: String,
    /// The vehicle.
    pub vehicle: EnrolledVehicle,
    /// The garage.
    pub garage: String,
    /// Whether the garage was made for it.
    pub garage_made: bool,
    /// The number of the entry: always 1.
    pub entry: u32,
}

/// The vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EnrolledVehicle {
    /// Its tag.
    pub tag: String,
    /// Its VIN, where it has one.
    pub vin: Option<String>,
    /// Whether the VIN's check digit is the one of 49 CFR 565; nothing without a VIN.
    pub vin_check_digit_fits: Option<bool>,
    /// A few words on it.
    pub about: Option<String>,
    /// When its journal was started (RFC 3339).
    pub enrolled: String,
}

impl Answer for Enrolled {
    const SCHEMA: &'static str = "asfound/enrolled/1";
}
