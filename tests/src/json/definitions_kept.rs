//! `asfound/definitions-kept/1`: what `definition keep` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// Definitions that were taken into the garage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionsKept {
    /// The schema.
    pub schema: String,
    /// They, in the order in which they were named.
    pub kept: Vec<DefinitionKept>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionKept {
    /// Its name.
    pub id: String,
    /// Where it lies now.
    pub file: String,
}

impl Answer for DefinitionsKept {
    const SCHEMA: &'static str = "asfound/definitions-kept/1";
}
