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
    /// Which of them fit modules that others fit, too, in words.
    pub overlaps: Vec<String>,
    /// How many settings have a name that had none.
    pub settings_named: usize,
    /// The settings that read otherwise than before, by vehicle and setting.
    pub read_otherwise: Vec<ReadsOtherwise>,
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

/// A setting that reads otherwise than before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadsOtherwise {
    /// The vehicle's tag.
    pub vehicle: String,
    /// The setting's full name.
    pub setting: String,
    /// What it read.
    pub before: Option<Reads>,
    /// What it reads; nothing where it has no name any more.
    pub after: Option<Reads>,
}

/// What a setting reads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reads {
    /// Its label, where a definition gives one.
    pub label: Option<String>,
    /// Its value, as people see it.
    pub value: String,
}

impl Answer for DefinitionsKept {
    const SCHEMA: &'static str = "asfound/definitions-kept/1";
}
