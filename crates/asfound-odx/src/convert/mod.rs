//! From a layer in view to a definition.

mod access;
mod assemble;
mod calculation;
mod constant;
mod draft;
mod flatten;
mod leaf;
mod number;
mod place;
mod safety;
mod shape;
mod slug;
mod table;
mod text;
mod trouble;
mod variant;

pub(crate) use access::accesses;
pub(crate) use assemble::assemble;
pub(crate) use draft::Draft;
pub(crate) use slug::slug;
pub(crate) use text::text;
pub(crate) use trouble::{table, trouble_codes};
pub(crate) use variant::modules;
