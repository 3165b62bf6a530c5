//! From the bytes of a file to what the table says.

use super::grid;
use super::header::Columns;
use super::lines::LineCounter;
use super::options::TableOptions;
use super::problem::{TableProblem, TableProblems};
use super::quoting;
use super::reading::TableReading;
use super::rows::Rows;
use super::separator::{Separator, SeparatorFault};
use super::text::{self, TextFault};

/// Reads a table: any bytes, as a file holds them.
///
/// The first line that is not blank is the header line. Every problem of the first step that finds any (encoding,
/// separator, quotation marks, header, lines) is reported. A table without a line below its header is read as one
/// that says nothing.
///
/// ```
/// use asfound_capture::table::{TableOptions, parse_table};
///
/// let reading = parse_table(b"module,setting,value\nbody,lane_change_flashes,5\n", &TableOptions::default())?;
/// assert_eq!(reading.rows.len(), 1);
///
/// let problems = parse_table(b"ECU,Name,Now\nBody,Flashes,5\n", &TableOptions::default()).unwrap_err();
/// assert!(problems.hints()[0].ends_with("--columns module=ECU,setting=Name,value=Now"));
/// # Ok::<(), asfound_capture::table::TableProblems>(())
/// ```
pub fn parse_table(bytes: &[u8], options: &TableOptions) -> Result<TableReading, TableProblems> {
    let (text, encoding) = text::decode(bytes, options.encoding)
        .map_err(|(line, fault)| TableProblems::only([TableProblem::at(line, fault)]))?;
    let separator = match options.separator {
        Some(separator) => separator,
        None => Separator::find(&text).map_err(|fault| separator_problem(&text, fault))?,
    };
    let misquoted = quoting::check(&text, separator);
    if !misquoted.is_empty() {
        return Err(TableProblems::only(misquoted.into_iter().map(|(line, fault)| TableProblem::at(line, fault))));
    }

    let lines = grid::lines_of(&text, separator);
    let mut filled = lines.iter().skip_while(|line| line.is_blank());
    let Some(header) = filled.next() else {
        return Err(TableProblems::only([TableProblem::at(None, TextFault::Empty)]));
    };
    let headers = header.cells.iter().map(|cell| cell.trim().to_owned()).collect();
    let (columns, mapping) = Columns::find(headers, options)
        .map_err(|faults| TableProblems::only(faults.into_iter().map(|fault| TableProblem::at(header.line, fault))))?;

    let mut rows = Rows::new(&columns, options.module.as_ref());
    filled.for_each(|line| rows.read(line));
    let Rows { found: rows, without_value, repeated, problems, .. } = rows;
    if problems.total() > 0 {
        return Err(problems);
    }
    Ok(TableReading { rows, without_value, repeated, columns: mapping, separator, encoding })
}

/// A separator that was not found, with the line in which it was looked for.
fn separator_problem(text: &str, fault: SeparatorFault) -> TableProblems {
    let start = text.find(|c: char| !c.is_whitespace()).unwrap_or(0);
    let line = LineCounter::new(text).line_at(start);
    TableProblems::only([TableProblem::at(line, fault)])
}
