//! Definitions from the open standard: ODX documents and PDX packages (ISO 22901-1).
//!
//! [`Package::open`] reads a package or a document, with bounds on what it takes ([`Limits`]); [`each_layer`] reads no more
//! of it at a time than a layer needs. A [`Converter`] lists layers and makes definitions of them: each layer with all that it inherits, every value that the model of settings has a
//! place for, and a [`Report`] of what stays bytes and why. [`export`] gives a definition as a document again.

mod build;
mod convert;
mod each_layer;
mod error;
mod export;
mod input;
mod limits;
mod model;
mod package;
mod reader;
mod reason;
mod report;
mod source;
mod view;

pub use each_layer::{LayerVisit, each_layer};
pub use error::{OdxError, Place};
pub use export::{ExportedDocument, export};
pub use limits::Limits;
pub use model::LayerKind;
pub use package::Package;
pub use reader::{Converter, LayerDefinition, LayerSummary};
pub use reason::Reason;
pub use report::{ByteValue, Note, OmittedRecord, Report, WholeValue};
pub use source::ReadProgress;
