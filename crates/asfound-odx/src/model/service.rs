//! Services and their messages.

use super::{CodedType, Head, Reference};

/// What a parameter is.
#[derive(Debug, Clone)]
pub(crate) enum ParameterKind {
    /// `CODED-CONST`: always these coded bits.
    CodedConst { coded: CodedType, value: Box<str> },
    /// `PHYS-CONST`: always this physical value.
    PhysicalConst { object: Option<Reference>, value: Box<str> },
    /// `VALUE`.
    Value { object: Option<Reference> },
    /// `RESERVED`.
    Reserved { bits: u32 },
    /// `MATCHING-REQUEST-PARAM`: as in the request.
    MatchingRequest { from: usize, bytes: usize },
    /// `LENGTH-KEY`: the length of another parameter.
    LengthKey,
    /// `TABLE-KEY`: chooses a row of a table; with a row of its own it always chooses that.
    TableKey { table: Option<Reference>, row: Option<Reference> },
    /// `TABLE-STRUCT`: what the row has that a key chose.
    TableStruct { key: Option<Reference> },
    /// `TABLE-ENTRY`, `SYSTEM`, `DYNAMIC`, `NRC-CONST` and what is not known.
    Other { object: Option<Reference> },
}

/// One parameter of a message or a structure (`PARAM`).
#[derive(Debug, Clone)]
pub(crate) struct Parameter {
    pub(crate) head: Head,
    pub(crate) semantic: Option<Box<str>>,
    pub(crate) byte: Option<usize>,
    pub(crate) bit: u8,
    pub(crate) kind: ParameterKind,
}

/// A request or a positive response.
#[derive(Debug, Clone)]
pub(crate) struct Message {
    pub(crate) parameters: Vec<Parameter>,
}

/// A service (`DIAG-SERVICE`).
#[derive(Debug, Clone)]
pub(crate) struct Service {
    pub(crate) head: Head,
    pub(crate) classes: Vec<Reference>,
    pub(crate) request: Option<Reference>,
    pub(crate) responses: Vec<Reference>,
}

/// What stands in a layer's list of services.
#[derive(Debug, Clone)]
pub(crate) enum ServiceEntry {
    /// A service of the layer, by its place in the layer's list.
    Own(usize),
    /// A service of another layer.
    Elsewhere(Reference),
}
