//! What is kept of the documents: objects as they are written, not yet put together.

mod coded_type;
mod computation;
mod data_object;
mod database;
mod layer;
mod reference;
mod service;
mod table;
mod text;
mod trouble;
mod variant;

pub(crate) use coded_type::{BaseType, CodedType, Encoding, Length};
pub(crate) use computation::{Category, Computation, Limit, LimitKind, Rational, Scale, Validity, ValidityRange};
pub(crate) use data_object::{
    Constraint, DataObject, EnvironmentData, EnvironmentDescription, Field, FieldCount, Multiplexer, ObjectKind,
    Property, StructureShape,
};
pub(crate) use database::{Database, Document, ObjectPlace};
pub use layer::LayerKind;
pub(crate) use layer::{Layer, Parent, Unit};
pub(crate) use reference::{DocType, Reference, Target};
pub(crate) use service::{Message, Parameter, ParameterKind, Service, ServiceEntry};
pub(crate) use table::{RowEntry, Table, TableRow};
pub(crate) use text::Head;
pub(crate) use trouble::{TroubleCode, TroubleCodes};
pub(crate) use variant::{Matching, Pattern};
