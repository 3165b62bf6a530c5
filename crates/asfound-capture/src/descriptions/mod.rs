//! Tables that say what trouble codes mean.
//!
//! The project ships none: who loads one answers for it, and whatever is shown from it is shown as coming from it.

mod by_table;
mod by_toml;
mod line;

pub use by_toml::DESCRIPTIONS_FORMAT;

use std::collections::BTreeMap;
use std::fmt;

use asfound_core::document::Problems;
use asfound_core::trouble_code::TroubleCode;
use thiserror::Error;

use crate::table::TableProblems;

/// What is wrong with a table of descriptions, everything at once.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DescriptionsError {
    /// As a TOML file.
    #[error(transparent)]
    Toml(#[from] Problems),
    /// As a table of cells.
    #[error(transparent)]
    Table(#[from] TableProblems),
    /// In its lines.
    #[error("{}", list(.0))]
    Lines(Vec<DescriptionFault>),
}

fn list(faults: &[DescriptionFault]) -> String {
    const SHOWN: usize = 20;
    let mut lines: Vec<String> = faults.iter().take(SHOWN).map(ToString::to_string).collect();
    if faults.len() > SHOWN {
        lines.push(format!("{} more lines are wrong", faults.len() - SHOWN));
    }
    lines.join("\n")
}

/// What is wrong with one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DescriptionFault {
    /// The line of the file, from 1; nothing where it is about the whole file.
    pub line: Option<usize>,
    /// What is wrong.
    pub what: String,
}

impl fmt::Display for DescriptionFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}: {}", self.what),
            None => f.write_str(&self.what),
        }
    }
}

/// What trouble codes mean, as somebody's table has it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DescriptionTable {
    /// What the table calls itself, where it does.
    pub title: Option<String>,
    /// Where it says that it comes from.
    pub source: Option<String>,
    /// The descriptions.
    pub descriptions: BTreeMap<TroubleCode, String>,
}

impl DescriptionTable {
    /// Reads a table: TOML where `toml` says so, else any table of cells with the columns `code` and `description`.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn parse(bytes: &[u8], toml: bool) -> Result<Self, DescriptionsError> {
        if toml { by_toml::parse(bytes) } else { by_table::parse(bytes) }
    }

    /// What the table says of a code; of a code with a failure type that it does not have, what it says of the first two
    /// bytes.
    pub fn find(&self, code: &TroubleCode) -> Option<&str> {
        let found = self.descriptions.get(code).or_else(|| self.descriptions.get(&TroubleCode::Two(code.base()?)));
        found.map(String::as_str)
    }
}
