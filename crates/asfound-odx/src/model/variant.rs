//! What tells ECU variants apart (`ECU-VARIANT-PATTERN`).

/// One value that must be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Matching {
    pub(crate) expected: Box<str>,
    /// The short name of the service that reads it.
    pub(crate) service: Box<str>,
    /// The short name of the parameter, where it is a single one.
    pub(crate) parameter: Option<Box<str>>,
    pub(crate) line: u32,
}

/// Values that must all be read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Pattern {
    pub(crate) matching: Vec<Matching>,
}
