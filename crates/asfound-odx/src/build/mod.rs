//! From elements to the model.

mod coded_type;
mod computation;
mod data_object;
mod document;
mod head;
mod layer;
mod parameter;
mod service;
mod table;
mod trouble;
mod variant;

pub(crate) use document::{Pass, read_document};
pub(crate) use layer::Depth;
