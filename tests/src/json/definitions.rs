//! `asfound/definitions/1`: what `definition list` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, rising};

/// The garage's definitions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Definitions {
    /// The schema.
    pub schema: String,
    /// They, by name.
    pub definitions: Vec<DefinitionLine>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionLine {
    /// Its name.
    pub id: String,
    /// The module that it is for.
    pub module: String,
    /// Which identities it fits, in words.
    pub fits: String,
    /// Its title.
    pub title: String,
    /// How many settings it describes.
    pub settings: usize,
    /// How many records.
    pub records: usize,
    /// How many rules.
    pub rules: usize,
}

impl Answer for Definitions {
    const SCHEMA: &'static str = "asfound/definitions/1";
    fn check(&self) {
        rising("definitions", &self.definitions, |definition| definition.id.clone());
    }
}
