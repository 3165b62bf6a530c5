//! From elements to the model.

mod coded_type;
mod computation;
mod data_object;
mod document;
mod head;
mod layer;
mod parameter;
mod service;
mod trouble;
mod variant;

pub(crate) use document::read_document;
