//! `asfound/failure/1`: what any command writes to standard error when it fails.

use serde::{Deserialize, Serialize};

use super::Answer;

/// A failed command; nothing was filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Failure {
    /// The schema.
    pub schema: String,
    /// The exit code.
    pub exit: u8,
    /// What is wrong and where; one or more lines.
    pub message: String,
    /// What to do next.
    pub hint: Option<String>,
}

impl Answer for Failure {
    const SCHEMA: &'static str = "asfound/failure/1";
}
