//! What is told when a command fails: what is wrong, where, and what to do.

use std::fmt;

use asfound_journal::FailureKind;
use asfound_journal::garage::GarageError;
use asfound_journal::journal::{FileError, JournalError};
use asfound_journal::store::StoreError;

use crate::exit::Exit;

/// A failed command. Nothing was filed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// How the program ends.
    pub exit: Exit,
    /// What is wrong and where; one or more lines.
    pub message: String,
    /// What to do next.
    pub hint: Option<String>,
}

impl Failure {
    /// Wrong usage or input.
    pub fn usage(message: impl fmt::Display) -> Self {
        Self { exit: Exit::Usage, message: message.to_string(), hint: None }
    }

    /// Refused for safety or conflict.
    pub fn refused(message: impl fmt::Display) -> Self {
        Self { exit: Exit::Refused, message: message.to_string(), hint: None }
    }

    /// The journal or the garage is damaged or out of reach.
    pub fn damaged(message: impl fmt::Display) -> Self {
        Self { exit: Exit::Damaged, message: message.to_string(), hint: None }
    }

    /// The same with what to do next.
    #[must_use]
    pub fn hint(mut self, hint: impl fmt::Display) -> Self {
        self.hint = Some(hint.to_string());
        self
    }

    /// The same with what to do next, where there is something.
    #[must_use]
    pub fn maybe_hint(mut self, hint: Option<impl fmt::Display>) -> Self {
        self.hint = hint.map(|hint| hint.to_string()).or(self.hint);
        self
    }
}

fn exit_for(kind: FailureKind) -> Exit {
    match kind {
        FailureKind::NotFound | FailureKind::Input => Exit::Usage,
        FailureKind::Conflict => Exit::Refused,
        _ => Exit::Damaged,
    }
}

impl From<JournalError> for Failure {
    fn from(error: JournalError) -> Self {
        let exit = match &error {
            JournalError::Enrolled(_) => Exit::Refused,
            error => exit_for(error.kind()),
        };
        Self { exit, message: error.to_string(), hint: error.hint() }
    }
}

impl From<GarageError> for Failure {
    fn from(error: GarageError) -> Self {
        let exit = match &error {
            // The garage is sound, and out of this version's reach.
            GarageError::Newer { .. } => Exit::Damaged,
            error => exit_for(error.kind()),
        };
        Self { exit, message: error.to_string(), hint: error.hint() }
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        JournalError::from(error).into()
    }
}

impl<E: Into<Failure>> From<FileError<E>> for Failure {
    fn from(error: FileError<E>) -> Self {
        match error {
            FileError::Journal(error) => error.into(),
            FileError::Refused(error) => error.into(),
        }
    }
}
