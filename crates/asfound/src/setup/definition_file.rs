//! Definition files from disk.

use std::path::Path;

use asfound_core::definition::Definition;
use asfound_core::document::{Problems, decode_utf8};

use crate::failure::Failure;

/// Reads a definition file's content.
///
/// # Errors
/// Every problem in it, each with file, line and column.
pub fn parse_definition(path: &Path, bytes: &[u8]) -> Result<Definition, Failure> {
    let text = decode_utf8(bytes).map_err(|problem| Failure::usage(format!("{}: {problem}", path.display())))?;
    match Definition::parse(text) {
        Ok(parsed) => Ok(parsed.definition),
        Err(problems) => Err(problems_failure(path, &problems)),
    }
}

/// Problems of a file as a failure: a line each.
pub fn problems_failure(path: &Path, problems: &Problems) -> Failure {
    let lines: Vec<String> = problems.iter().map(|problem| format!("{}: {problem}", path.display())).collect();
    Failure::usage(lines.join("\n")).maybe_hint(problems.iter().find_map(|problem| problem.hint.clone()))
}
