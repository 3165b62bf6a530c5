//! What sort of failure an error is, for whoever chooses an exit code.

/// The sort of an error of this crate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FailureKind {
    /// What was asked for does not exist.
    NotFound,
    /// It contradicts what is already there: the journal has moved on, the garage exists.
    Conflict,
    /// Another program is writing; trying again later may help.
    Busy,
    /// What was handed in, or written by hand into a settings file, cannot be used as it is.
    Input,
    /// What is stored cannot be what was written.
    Damaged,
    /// The operating system refused, or the disk failed.
    Io,
}
