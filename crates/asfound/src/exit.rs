//! The exit codes, in one place.

use std::process::ExitCode;

/// How the program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// The answer is "no": differences where none were expected, problems in what was examined.
    No = 1,
    /// Wrong usage or input.
    Usage = 2,
    /// Refused for safety or conflict.
    Refused = 3,
    /// The journal is damaged or cannot be read or written.
    Damaged = 4,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
