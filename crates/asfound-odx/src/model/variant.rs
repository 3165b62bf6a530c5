//! What tells ECU variants apart (`ECU-VARIANT-PATTERN`).

/// One value that must be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Matching {
    pub(crate) expected: Box<str>,
    /// The short name of the service that reads it.
    pub(crate) service: Box<str>,
    /// The short names of the parameter and of what it stands in, with dots.
    pub(crate) parameter: Option<Box<str>>,
    pub(crate) line: u32,
}

/// Values that must all be read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Pattern {
    pub(crate) matching: Vec<Matching>,
}
