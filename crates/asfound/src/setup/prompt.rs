//! Questions.

use std::io::{BufRead, Write};

use asfound_core::document::{visible, visible_lines};

use crate::failure::Failure;

/// Asks somebody at the terminal; the questions go to standard error.
pub struct Prompt<'a> {
    /// Where answers come from.
    pub answers: &'a mut dyn BufRead,
    /// Where questions go.
    pub questions: &'a mut dyn Write,
}

impl Prompt<'_> {
    /// Asks until there is an answer that `accept` takes; what it refuses with is shown.
    ///
    /// # Errors
    /// When the answers end.
    pub fn ask<T>(&mut self, question: &str, mut accept: impl FnMut(&str) -> Result<T, String>) -> Result<T, Failure> {
        loop {
            let failed = |error: std::io::Error| Failure::usage(format!("no answer could be read: {error}"));
            write!(self.questions, "{} ", visible_lines(question))
                .and_then(|()| self.questions.flush())
                .map_err(failed)?;
            let mut answer = String::new();
            if self.answers.read_line(&mut answer).map_err(failed)? == 0 {
                return Err(Failure::usage("the answers ended before the questions; nothing was filed"));
            }
            match accept(answer.trim()) {
                Ok(value) => return Ok(value),
                Err(why) => writeln!(self.questions, "  {}", visible(&why)).map_err(failed)?,
            }
        }
    }

    /// Asks until the answer is yes or no.
    ///
    /// # Errors
    /// When the answers end.
    pub fn yes_or_no(&mut self, question: &str) -> Result<bool, Failure> {
        self.ask(question, |answer| match answer {
            "yes" | "y" => Ok(true),
            "no" | "n" => Ok(false),
            _ => Err("answer yes or no".to_owned()),
        })
    }
}
