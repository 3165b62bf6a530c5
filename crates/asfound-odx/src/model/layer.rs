//! Diagnostic layers.

use std::collections::HashMap;
use std::fmt;

use super::{DataObject, Head, Message, Pattern, Reference, Service, ServiceEntry, Table};

/// The kinds of layers; a later one goes before an earlier one where both give an object (ISO 22901-1: value inheritance).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LayerKind {
    /// `ECU-SHARED-DATA`.
    SharedData,
    /// `PROTOCOL`.
    Protocol,
    /// `FUNCTIONAL-GROUP`.
    FunctionalGroup,
    /// `BASE-VARIANT`.
    BaseVariant,
    /// `ECU-VARIANT`.
    EcuVariant,
}

impl LayerKind {
    /// As it is written in words.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::SharedData => "shared data",
            Self::Protocol => "protocol",
            Self::FunctionalGroup => "functional group",
            Self::BaseVariant => "base variant",
            Self::EcuVariant => "ECU variant",
        }
    }

    pub(crate) fn of_element(name: &str) -> Option<Self> {
        Some(match name {
            "ECU-SHARED-DATA" => Self::SharedData,
            "PROTOCOL" => Self::Protocol,
            "FUNCTIONAL-GROUP" => Self::FunctionalGroup,
            "BASE-VARIANT" => Self::BaseVariant,
            "ECU-VARIANT" => Self::EcuVariant,
            _ => return None,
        })
    }
}

impl fmt::Display for LayerKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

/// A layer that is inherited from.
#[derive(Debug, Clone)]
pub(crate) struct Parent {
    pub(crate) reference: Reference,
    /// Short names of services that are not inherited.
    pub(crate) without_services: Vec<Box<str>>,
    /// Short names of data objects that are not inherited.
    pub(crate) without_objects: Vec<Box<str>>,
    /// Short names of tables that are not inherited.
    pub(crate) without_tables: Vec<Box<str>>,
}

/// A unit.
#[derive(Debug, Clone)]
pub(crate) struct Unit {
    pub(crate) display: Box<str>,
}

/// One diagnostic layer, with what it has of its own.
#[derive(Debug, Clone)]
pub(crate) struct Layer {
    pub(crate) head: Head,
    pub(crate) kind: LayerKind,
    pub(crate) document: usize,
    /// The language of its texts, where it says another one than its document does.
    pub(crate) language: Option<Box<str>>,
    pub(crate) parents: Vec<Parent>,
    pub(crate) imports: Vec<Reference>,
    pub(crate) entries: Vec<ServiceEntry>,
    pub(crate) services: Vec<Service>,
    pub(crate) requests: Vec<Message>,
    pub(crate) responses: Vec<Message>,
    pub(crate) objects: Vec<DataObject>,
    pub(crate) tables: Vec<Table>,
    pub(crate) units: Vec<Unit>,
    /// Functional classes: their names.
    pub(crate) classes: Vec<Head>,
    pub(crate) patterns: Vec<Pattern>,
    /// The objects by short name.
    pub(crate) by_name: HashMap<Box<str>, usize>,
}

impl Layer {
    pub(crate) fn new(kind: LayerKind, document: usize, id: Option<Box<str>>, line: u32) -> Self {
        Self {
            head: Head { id, line, ..Head::default() },
            kind,
            document,
            language: None,
            parents: Vec::new(),
            imports: Vec::new(),
            entries: Vec::new(),
            services: Vec::new(),
            requests: Vec::new(),
            responses: Vec::new(),
            objects: Vec::new(),
            tables: Vec::new(),
            units: Vec::new(),
            classes: Vec::new(),
            patterns: Vec::new(),
            by_name: HashMap::new(),
        }
    }
}
