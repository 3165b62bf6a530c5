//! Trouble-code objects (`DTC-DOP`, `DTC`).

use super::{CodedType, Head, Reference};

/// One trouble code.
#[derive(Debug, Clone)]
pub(crate) struct TroubleCode {
    pub(crate) head: Head,
    pub(crate) number: u32,
    /// `DISPLAY-TROUBLE-CODE`.
    pub(crate) display: Option<Box<str>>,
    pub(crate) text: Box<str>,
}

/// A value that is a trouble code.
#[derive(Debug, Clone)]
pub(crate) struct TroubleCodes {
    pub(crate) coded: CodedType,
    pub(crate) codes: Vec<TroubleCode>,
    /// Codes by reference (`DTC-REF`).
    pub(crate) references: Vec<Reference>,
    /// Other trouble-code objects, with the short names of codes that are not taken from them.
    pub(crate) linked: Vec<(Reference, Vec<Box<str>>)>,
}
