//! `asfound/vehicles/1`: what `vehicles` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Unreadable, rising};

/// All vehicles of a garage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vehicles {
    /// The schema.
    pub schema: String,
    /// The garage.
    pub garage: String,
    /// The vehicles, by tag.
    pub vehicles: Vec<VehicleLine>,
    /// Those whose journal cannot be read, by tag.
    pub unreadable: Vec<Unreadable>,
}

/// One vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VehicleLine {
    /// Its tag.
    pub tag: String,
    /// Its VIN, where it has one.
    pub vin: Option<String>,
    /// A few words on it.
    pub about: Option<String>,
    /// When its journal was started (RFC 3339).
    pub enrolled: String,
    /// How many entries it has.
    pub entries: u32,
    /// How many orders are open; nothing where its journal cannot be read.
    pub open_orders: Option<usize>,
    /// How many trials are open; nothing where its journal cannot be traced.
    pub on_trial: Option<usize>,
    /// Of how many steps nobody knows what became of them; nothing where its journal cannot be traced.
    pub in_doubt: Option<usize>,
    /// The last of them.
    pub last_entry: LastEntry,
}

/// The last entry of a vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LastEntry {
    /// Its kind.
    pub kind: String,
    /// When it was filed (RFC 3339).
    pub recorded: String,
}

impl Answer for Vehicles {
    const SCHEMA: &'static str = "asfound/vehicles/1";
    fn check(&self) {
        rising("vehicles", &self.vehicles, |vehicle| vehicle.tag.clone());
    }
}
