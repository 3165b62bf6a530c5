//! Where problems are gathered while a file is taken apart.

use std::cell::RefCell;

use super::{Problem, Problems, TextPosition};

/// Gathers problems from the readers of nested tables, which all hold it at the same time.
#[derive(Debug, Default)]
pub struct Collector {
    problems: RefCell<Vec<Problem>>,
}

impl Collector {
    /// An empty one.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes in a problem.
    pub fn add(&self, problem: Problem) {
        self.problems.borrow_mut().push(problem);
    }

    /// Takes in an error.
    pub fn error(&self, place: TextPosition, at: &str, message: impl Into<String>) {
        self.add(Problem::error(Some(place), at, message));
    }

    /// Takes in an error with advice.
    pub fn error_with_hint(&self, place: TextPosition, at: &str, message: impl Into<String>, hint: impl Into<String>) {
        self.add(Problem::error(Some(place), at, message).with_hint(hint));
    }

    /// Takes in a warning.
    pub fn warning(&self, place: TextPosition, at: &str, message: impl Into<String>) {
        self.add(Problem::warning(Some(place), at, message));
    }

    /// What was gathered, sorted by place.
    pub fn into_problems(self) -> Problems {
        Problems::new(self.problems.into_inner())
    }
}
