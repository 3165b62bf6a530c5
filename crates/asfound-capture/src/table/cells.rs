//! The cells of a table, without asking what they mean.

use super::problem::{TableProblem, TableProblems};
use super::separator::Separator;
use super::{grid, quoting, text};

/// The lines of a table that are not blank, each with its number and its cells; the first is the header.
///
/// # Errors
/// What is wrong with encoding, separator or quotation marks.
pub(crate) fn cells_of(bytes: &[u8]) -> Result<Vec<(usize, Vec<String>)>, TableProblems> {
    let (text, _) =
        text::decode(bytes, None).map_err(|(line, fault)| TableProblems::only([TableProblem::at(line, fault)]))?;
    let separator = Separator::find(&text).map_err(|fault| TableProblems::only([TableProblem::at(None, fault)]))?;
    let misquoted = quoting::check(&text, separator);
    if !misquoted.is_empty() {
        return Err(TableProblems::only(misquoted.into_iter().map(|(line, fault)| TableProblem::at(line, fault))));
    }
    let lines = grid::lines_of(&text, separator).into_iter().filter(|line| !line.is_blank());
    Ok(lines.map(|line| (line.line, line.cells.iter().map(|cell| cell.trim().to_owned()).collect())).collect())
}
