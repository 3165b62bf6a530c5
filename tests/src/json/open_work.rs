//! `asfound/open-work/1`: what `vehicles --open` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Unreadable, rising};

/// What is open over all cars of a garage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OpenWork {
    /// The schema.
    pub schema: String,
    /// How many cars were looked at.
    pub looked_at: usize,
    /// The cars that have something open, by tag.
    pub vehicles: Vec<VehicleOpenWork>,
    /// Those whose journal cannot be read or traced, by tag.
    pub unreadable: Vec<Unreadable>,
}

/// What is open of one car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VehicleOpenWork {
    /// Its tag.
    pub vehicle: String,
    /// Its open orders.
    pub orders: Vec<OpenOrder>,
    /// Its guided runs that were begun and neither filed nor ended, by name.
    pub runs: Vec<String>,
    /// The records and settings of steps of which nobody knows what became of them.
    pub in_doubt: Vec<String>,
    /// The entries of work on trial.
    pub on_trial: Vec<u32>,
    /// Work that was stated more than a week ago, and that no reading shows yet.
    pub only_stated: Vec<StatedWork>,
}

/// An open order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OpenOrder {
    /// Its number.
    pub order: String,
    /// Since when it is open (RFC 3339).
    pub since: String,
    /// What was agreed to and is not done.
    pub not_done: Vec<String>,
    /// What was done without authority.
    pub without_authority: Vec<String>,
}

/// Work that was stated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StatedWork {
    /// The entry.
    pub entry: u32,
    /// When it was filed (RFC 3339).
    pub recorded: String,
    /// What it is, in one line.
    pub headline: String,
}

impl Answer for OpenWork {
    const SCHEMA: &'static str = "asfound/open-work/1";
    fn check(&self) {
        rising("cars", &self.vehicles, |one| one.vehicle.clone());
    }
}
