//! Data objects: what a parameter's value is, or what it is made of.

use super::{CodedType, Computation, Head, Limit, Parameter, Reference, TroubleCodes, ValidityRange};

/// A simple value (`DATA-OBJECT-PROP`).
#[derive(Debug, Clone)]
pub(crate) struct Property {
    pub(crate) coded: CodedType,
    /// Whether the physical value is a whole number.
    pub(crate) whole: bool,
    /// `PRECISION`: places to show.
    pub(crate) precision: Option<u8>,
    pub(crate) computation: Computation,
    pub(crate) unit: Option<Reference>,
    pub(crate) internal: Constraint,
    pub(crate) physical: Constraint,
}

/// `INTERNAL-CONSTR` or `PHYS-CONSTR`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Constraint {
    pub(crate) lower: Option<Limit>,
    pub(crate) upper: Option<Limit>,
    pub(crate) ranges: Vec<ValidityRange>,
}

impl Constraint {
    pub(crate) fn is_empty(&self) -> bool {
        self.lower.is_none() && self.upper.is_none() && self.ranges.is_empty()
    }
}

/// Parameters one after the other (`STRUCTURE`, `ENV-DATA`).
#[derive(Debug, Clone, Default)]
pub(crate) struct StructureShape {
    pub(crate) byte_size: Option<usize>,
    pub(crate) parameters: Vec<Parameter>,
}

/// How often a field's structure stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FieldCount {
    /// `STATIC-FIELD`: always so often, each of so many bytes.
    Fixed { items: usize, item_size: usize },
    /// `END-OF-PDU-FIELD`: to the end.
    ToEnd { least: Option<usize>, most: Option<usize> },
    /// `DYNAMIC-LENGTH-FIELD`: as often as another value says.
    Counted,
    /// `DYNAMIC-ENDMARKER-FIELD`: up to a marker.
    Marked,
}

/// The same structure several times.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    pub(crate) count: FieldCount,
    pub(crate) structure: Option<Reference>,
}

/// One of several structures, chosen by a key (`MUX`).
#[derive(Debug, Clone)]
pub(crate) struct Multiplexer {
    pub(crate) byte: usize,
    pub(crate) key_byte: usize,
    pub(crate) key_bit: u8,
    pub(crate) key: Option<Reference>,
    /// The structures of the cases; nothing for a case without content.
    pub(crate) cases: Vec<Option<Reference>>,
}

/// Parameters that go with a trouble code (`ENV-DATA`).
#[derive(Debug, Clone)]
pub(crate) struct EnvironmentData {
    pub(crate) shape: StructureShape,
    /// `ALL-VALUE`: with every code.
    pub(crate) always: bool,
}

/// Which parameters go with which trouble code (`ENV-DATA-DESC`).
#[derive(Debug, Clone)]
pub(crate) struct EnvironmentDescription {
    /// The data by reference, as ODX 2.2 has them.
    pub(crate) references: Vec<Reference>,
    /// The data in place, as ODX 2.0 has them.
    pub(crate) inside: Vec<EnvironmentData>,
}

/// The kinds of data objects.
#[derive(Debug, Clone)]
pub(crate) enum ObjectKind {
    Property(Box<Property>),
    TroubleCodes(Box<TroubleCodes>),
    Structure(StructureShape),
    Field(Field),
    Multiplexer(Box<Multiplexer>),
    EnvironmentData(EnvironmentData),
    EnvironmentDescription(EnvironmentDescription),
}

/// A data object with its names.
#[derive(Debug, Clone)]
pub(crate) struct DataObject {
    pub(crate) head: Head,
    pub(crate) kind: ObjectKind,
}
