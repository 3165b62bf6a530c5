//! `asfound/definition-check/1`: what `definition check` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// Examined definition files.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionCheck {
    /// The schema.
    pub schema: String,
    /// The files, in the order in which they were named.
    pub files: Vec<CheckedFile>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckedFile {
    /// Its path.
    pub file: String,
    /// What is wrong with it by itself, by place; then what is wrong with it beside the others.
    pub problems: Vec<DefinitionProblem>,
}

/// One problem.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionProblem {
    /// `error` or `warning`.
    pub level: String,
    /// The line, from 1; nothing where it concerns the whole file.
    pub line: Option<usize>,
    /// The column, from 1, in characters.
    pub column: Option<usize>,
    /// The place as a dotted path; empty for the whole file.
    pub at: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
}

impl Answer for DefinitionCheck {
    const SCHEMA: &'static str = "asfound/definition-check/1";
    fn check(&self) {
        for problem in self.files.iter().flat_map(|file| &file.problems) {
            assert!(["error", "warning"].contains(&problem.level.as_str()), "{problem:?}");
            assert_eq!(problem.line.is_some(), problem.column.is_some(), "{problem:?}");
        }
    }
}
