//! From bytes to elements: encodings, limits, lines.

mod element;
mod text_source;
mod xml;

pub(crate) use element::{Element, Fault};
pub(crate) use text_source::TextSource;
pub(crate) use xml::{Head, Xml};
