//! `asfound/taken-in/1`: what `import` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// What taking in many readings came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenIn {
    /// The schema.
    pub schema: String,
    /// The folder, or `-`.
    pub place: String,
    /// How many readings were filed.
    pub filed: usize,
    /// How many had been filed before.
    pub filed_before: usize,
    /// How many vehicles were enrolled.
    pub enrolled: usize,
    /// Readings that were refused, in the order in which they came.
    pub refused: Vec<RefusedReading>,
}

/// A reading that was refused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RefusedReading {
    /// Its path below the folder, or its line.
    pub name: String,
    /// What is wrong.
    pub why: String,
}

impl Answer for TakenIn {
    const SCHEMA: &'static str = "asfound/taken-in/1";
}
