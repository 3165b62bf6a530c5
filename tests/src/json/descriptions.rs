//! `asfound/descriptions/1`: what `describe tables` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, rising};

/// The tables of descriptions in a garage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DescriptionsTables {
    /// The schema.
    pub schema: String,
    /// The tables, by name.
    pub tables: Vec<DescriptionsTable>,
}

/// A table of descriptions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DescriptionsTable {
    /// Its name in the garage.
    pub name: String,
    /// The SHA-256 digest of its file.
    pub sha256: String,
    /// What it calls itself.
    pub title: Option<String>,
    /// Where it says that it comes from.
    pub source: Option<String>,
    /// How many codes it describes.
    pub codes: usize,
}

impl Answer for DescriptionsTables {
    const SCHEMA: &'static str = "asfound/descriptions/1";
    fn check(&self) {
        rising("tables", &self.tables, |table| table.name.clone());
    }
}
