//! A step of which nobody knows what became of it.

use serde::{Deserialize, Serialize};

/// A step of a walked plan that is in doubt, and that no later reading has answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OpenStep {
    /// The module.
    pub module: String,
    /// The record that was to be written; nothing where a setting was to be set by name.
    pub record: Option<String>,
    /// The setting that was to be set by name.
    pub setting: Option<String>,
    /// The entry of the work.
    pub entry: u32,
    /// `in-doubt` or `read-back-otherwise`.
    pub outcome: String,
}
