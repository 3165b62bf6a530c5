//! `asfound/definition-exported/1`: what `definition export` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// A definition that was written as an ODX document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionExported {
    /// The schema.
    pub schema: String,
    /// The definition's name.
    pub id: String,
    /// The file that was written.
    pub file: String,
    /// What the document has no place for, in words.
    pub left: Vec<String>,
}

impl Answer for DefinitionExported {
    const SCHEMA: &'static str = "asfound/definition-exported/1";
}
