//! `asfound/book/1`: what `book` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// A book that was written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookWritten {
    /// The schema.
    pub schema: String,
    /// The vehicle.
    pub vehicle: String,
    /// How many entries it has.
    pub entries: usize,
    /// How many life lines: one for everything that ever changed.
    pub life_lines: usize,
    /// The file.
    pub file: String,
    /// How long it is.
    pub bytes: usize,
}

impl Answer for BookWritten {
    const SCHEMA: &'static str = "asfound/book/1";
}
