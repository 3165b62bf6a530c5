//! Definitions from the open standard: ODX documents and PDX packages (ISO 22901-1).
//!
//! [`Package::open`] reads a package or a document, with bounds on what it takes ([`Limits`]). A [`Converter`] lists its
//! layers and makes definitions of them: each layer with all that it inherits, every value that the model of settings has a
//! place for, and a [`Report`] of what stays bytes and why.

mod build;
mod convert;
mod error;
mod input;
mod kept;
mod limits;
mod model;
mod package;
mod reader;
mod report;
mod view;

pub use error::{OdxError, Place};
pub use kept::Kept;
pub use limits::Limits;
pub use model::LayerKind;
pub use package::{Package, ReadProgress};
pub use reader::{Converter, LayerSummary, TakenOver};
pub use report::{KeptValue, LeftRecord, Note, Report, TakenValue};
