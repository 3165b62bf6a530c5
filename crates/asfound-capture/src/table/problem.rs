//! Everything that is wrong with a table, at once.

use std::fmt;

use thiserror::Error;

use super::cell::CellFault;
use super::header::HeaderFault;
use super::printable::shortened;
use super::quoting::QuotingFault;
use super::rows::RowFault;
use super::separator::SeparatorFault;
use super::text::TextFault;

/// How many problems of one table are kept; the rest is counted.
pub const MOST_PROBLEMS: usize = 20;

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TableFault {
    /// With the bytes of the file.
    #[error(transparent)]
    Text(#[from] TextFault),
    /// With what separates the cells.
    #[error(transparent)]
    Separator(#[from] SeparatorFault),
    /// With quotation marks.
    #[error(transparent)]
    Quoting(#[from] QuotingFault),
    /// With the header line and the columns.
    #[error(transparent)]
    Header(#[from] HeaderFault),
    /// With a line as a whole, or with lines that contradict each other.
    #[error(transparent)]
    Row(#[from] RowFault),
    /// With one cell.
    #[error(transparent)]
    Cell(#[from] CellFault),
}

impl TableFault {
    /// What to do about it, where something can be said.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Text(fault) => fault.hint(),
            Self::Separator(fault) => fault.hint(),
            Self::Quoting(fault) => Some(fault.hint()),
            Self::Header(fault) => fault.hint(),
            Self::Row(fault) => fault.hint(),
            Self::Cell(fault) => fault.hint(),
        }
    }
}

/// One thing that is wrong with a table, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableProblem {
    /// The line of the file, from 1, where it has one.
    pub line: Option<usize>,
    /// The header of the column, or its number as in `#3`, where it has one.
    pub column: Option<String>,
    /// What is wrong.
    pub fault: TableFault,
}

impl TableProblem {
    /// A problem of a line as a whole, or of the file.
    pub(super) fn at(line: impl Into<Option<usize>>, fault: impl Into<TableFault>) -> Self {
        Self { line: line.into(), column: None, fault: fault.into() }
    }
}

impl fmt::Display for TableProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, &self.column) {
            (Some(line), Some(column)) => write!(f, "line {line}, column `{}`: ", shortened(column))?,
            (Some(line), None) => write!(f, "line {line}: ")?,
            (None, Some(column)) => write!(f, "column `{}`: ", shortened(column))?,
            (None, None) => {}
        }
        self.fault.fmt(f)
    }
}

/// Why a table was refused: every problem, in the order of the lines, up to [`MOST_PROBLEMS`].
///
/// Shown as one line for each problem, without the hints.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableProblems {
    kept: Vec<TableProblem>,
    more: usize,
}

impl TableProblems {
    /// None so far.
    pub(super) fn none() -> Self {
        Self { kept: Vec::new(), more: 0 }
    }

    /// Only these.
    pub(super) fn only(problems: impl IntoIterator<Item = TableProblem>) -> Self {
        let mut all = Self::none();
        problems.into_iter().for_each(|problem| all.add(problem));
        all
    }

    /// One more: kept or counted.
    pub(super) fn add(&mut self, problem: TableProblem) {
        if self.kept.len() < MOST_PROBLEMS { self.kept.push(problem) } else { self.more += 1 }
    }

    /// The problems that were kept: at least one.
    pub fn kept(&self) -> &[TableProblem] {
        &self.kept
    }

    /// How many more there are.
    pub fn more(&self) -> usize {
        self.more
    }

    /// How many there are in all.
    pub fn total(&self) -> usize {
        self.kept.len() + self.more
    }

    /// What to do about them: each hint once, in the order of the problems.
    pub fn hints(&self) -> Vec<String> {
        let mut hints: Vec<String> = Vec::new();
        for hint in self.kept.iter().filter_map(|problem| problem.fault.hint()) {
            if !hints.contains(&hint) {
                hints.push(hint);
            }
        }
        hints
    }
}

impl fmt::Display for TableProblems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.kept.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            problem.fmt(f)?;
        }
        match self.more {
            0 => Ok(()),
            more => write!(f, "\nand {more} more"),
        }
    }
}

impl std::error::Error for TableProblems {}
