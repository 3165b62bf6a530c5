//! What is wrong with a file, and where.

use std::fmt;

use thiserror::Error;

use super::TextPosition;
use super::shown_text::visible;

/// The longest message, in characters; one can repeat a list out of the file.
const LONGEST_MESSAGE: usize = 500;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The file cannot be used.
    Error,
    /// The file can be used, but something in it is likely not meant.
    Warning,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Error => "error",
            Self::Warning => "warning",
        })
    }
}

/// One thing that is wrong with a file.
///
/// Shown as `line 12, column 3: settings.lane_change_flashes.bits: …`; level and hint are left to the caller.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub struct Problem {
    /// How bad it is.
    pub level: Severity,
    /// Where it is; nothing where it concerns the whole file.
    pub place: Option<TextPosition>,
    /// The same as a dotted path, such as `settings.lane_change_flashes.bits` or `rules[2].when`; list items count from
    /// 1. Empty for the whole file.
    pub at: String,
    /// What is wrong: lower case, no full stop.
    pub message: String,
    /// What to do about it, where that can be said.
    pub hint: Option<String>,
}

impl Problem {
    /// An error at a place.
    pub fn error(place: Option<TextPosition>, at: impl Into<String>, message: impl Into<String>) -> Self {
        Self { level: Severity::Error, place, at: at.into(), message: fit(&message.into()), hint: None }
    }

    /// A warning at a place.
    pub fn warning(place: Option<TextPosition>, at: impl Into<String>, message: impl Into<String>) -> Self {
        Self { level: Severity::Warning, ..Self::error(place, at, message) }
    }

    /// The same problem with advice.
    pub fn with_hint(self, hint: impl Into<String>) -> Self {
        Self { hint: Some(fit(&hint.into())), ..self }
    }

    /// What to do about it, where that can be said.
    pub fn hint(&self) -> Option<&str> {
        self.hint.as_deref()
    }
}

/// A message made safe to show, and cut where a file made it very long.
fn fit(message: &str) -> String {
    match message.char_indices().nth(LONGEST_MESSAGE) {
        Some((at, _)) => visible(&message[..at]).into_owned() + "…",
        None => visible(message).into_owned(),
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = self.place {
            write!(f, "{place}: ")?;
        }
        if !self.at.is_empty() {
            write!(f, "{}: ", self.at)?;
        }
        f.write_str(&self.message)
    }
}

/// Everything that is wrong with a file, in the order of the file.
///
/// Shown one problem a line, each with its level in front and its hint on a line of its own.
#[derive(Debug, Clone, PartialEq, Eq, Default, Error)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// The problems, sorted by place; those without a place come first.
    pub fn new(mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|problem| problem.place);
        Self(problems)
    }

    /// The problems.
    pub fn as_slice(&self) -> &[Problem] {
        &self.0
    }

    /// The problems, one after the other.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.0.iter()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether one of them is an error.
    pub fn has_errors(&self) -> bool {
        self.0.iter().any(|problem| problem.level == Severity::Error)
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self(vec![problem])
    }
}

impl IntoIterator for Problems {
    type Item = Problem;
    type IntoIter = std::vec::IntoIter<Problem>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'p> IntoIterator for &'p Problems {
    type Item = &'p Problem;
    type IntoIter = std::slice::Iter<'p, Problem>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.0.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{}: {problem}", problem.level)?;
            if let Some(hint) = &problem.hint {
                write!(f, "\n  hint: {hint}")?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_shown_with_place_and_path_and_sorted() {
        let place = |line, column| Some(TextPosition { line, column });
        let problems = Problems::new(vec![
            Problem::warning(place(12, 3), "settings.x", "is odd").with_hint("make it even"),
            Problem::error(place(2, 9), "", "is wrong"),
            Problem::error(None, "", "is empty"),
        ]);
        assert!(problems.has_errors());
        assert_eq!(
            problems.to_string(),
            "error: is empty\n\
             error: line 2, column 9: is wrong\n\
             warning: line 12, column 3: settings.x: is odd\n  hint: make it even"
        );
        assert!(!Problems::from(Problem::warning(None, "", "w")).has_errors());
    }
}
