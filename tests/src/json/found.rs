//! `asfound/found/1`: what `find` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Content, Origin, Standing, rising};

/// The vehicles that have what was looked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Found {
    /// The schema.
    pub schema: String,
    /// The setting.
    pub setting: String,
    /// The value, where one was asked for.
    pub value: Option<String>,
    /// The software, where it was asked for.
    pub software: Option<String>,
    /// How many vehicles the garage has.
    pub searched: usize,
    /// Those that have it now, by tag.
    pub vehicles: Vec<FoundVehicle>,
    /// Those whose journal cannot be read, by tag.
    pub unreadable: Vec<Unreadable>,
}

/// A vehicle that has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FoundVehicle {
    /// Its tag.
    pub vehicle: String,
    /// Its VIN, where it has one.
    pub vin: Option<String>,
    /// The software of the setting's module, where it is known.
    pub software: Option<String>,
    /// What the setting holds.
    pub has: Content,
    /// The entry since which it does.
    pub entry: u32,
    /// Its kind.
    pub kind: String,
    /// When it happened (RFC 3339).
    pub happened: String,
    /// Who filed it.
    pub author: String,
    /// Why.
    pub why: String,
    /// Where it comes from.
    pub origin: Origin,
    /// How it is known.
    pub standing: Option<Standing>,
}

/// A vehicle whose journal cannot be read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unreadable {
    /// Its tag.
    pub vehicle: String,
    /// What is wrong.
    pub message: String,
}

impl Answer for Found {
    const SCHEMA: &'static str = "asfound/found/1";
    fn check(&self) {
        rising("vehicles", &self.vehicles, |one| one.vehicle.clone());
        rising("unreadable", &self.unreadable, |one| one.vehicle.clone());
    }
}
