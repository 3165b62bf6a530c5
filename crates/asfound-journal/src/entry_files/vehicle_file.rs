//! `vehicle.toml`: what vehicle the journal is about.

use asfound_core::entry::Vehicle;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::Salt;

/// Why a `vehicle.toml` cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum VehicleFileError {
    /// It is no TOML, or not of this form.
    #[error("vehicle.toml: {0}")]
    Form(String),
    /// It is of a version that this program does not know.
    #[error("vehicle.toml has the format `{0}`, this program reads `{VEHICLE_FORMAT}`")]
    Version(String),
}

const VEHICLE_FORMAT: &str = "asfound-vehicle/1";

/// The content of `vehicle.toml`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VehicleFile {
    format: String,
    #[serde(flatten)]
    vehicle: Vehicle,
    salt: Salt,
}

impl VehicleFile {
    /// The file for a vehicle.
    pub fn new(vehicle: Vehicle, salt: Salt) -> Self {
        Self { format: VEHICLE_FORMAT.to_owned(), vehicle, salt }
    }

    /// The vehicle.
    pub fn into_vehicle(self) -> Vehicle {
        self.vehicle
    }

    /// The file as text.
    pub fn to_text(&self) -> String {
        toml::to_string_pretty(self).expect("a vehicle is made of texts and a time, which TOML can hold")
    }

    /// Reads the file.
    pub fn parse(text: &str) -> Result<Self, VehicleFileError> {
        let file: Self = toml::from_str(text).map_err(|error| VehicleFileError::Form(error.to_string()))?;
        if file.format == VEHICLE_FORMAT { Ok(file) } else { Err(VehicleFileError::Version(file.format)) }
    }
}
