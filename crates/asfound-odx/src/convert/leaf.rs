//! The values of a message, each in its place.

use super::table::MessageKey;
use crate::model::{DataObject, Property};
use crate::reason::Reason;

/// What a piece of a message is.
#[derive(Debug, Clone)]
pub(crate) enum Content<'d> {
    /// A value that a data object describes; `layer` is where the object stands.
    Value { object: &'d DataObject, property: &'d Property, layer: usize },
    /// Always these bytes, from the first byte that they touch on, with the bits that count.
    Constant { bytes: Vec<u8>, mask: Vec<u8> },
    /// As in the request.
    Matching { from: usize },
    /// Nothing.
    Reserved,
    /// Something of known length that the model has no place for.
    Opaque(Reason),
    /// Something whose length is not always the same.
    Variable(Reason),
}

/// A piece of a message in its place.
#[derive(Debug, Clone)]
pub(crate) struct Leaf<'d> {
    /// Short names from the outside in; items of fields as `name[1]`.
    pub(crate) path: Vec<String>,
    /// The names for people, likewise.
    pub(crate) labels: Vec<String>,
    pub(crate) description: Option<&'d str>,
    /// The layer that the parameter stands in, its line and identifier.
    pub(crate) layer: usize,
    pub(crate) line: u32,
    pub(crate) semantic: Option<&'d str>,
    pub(crate) byte: usize,
    pub(crate) bit: u8,
    pub(crate) bits: usize,
    pub(crate) content: Content<'d>,
}

impl Leaf<'_> {
    /// The bytes that it touches.
    pub(crate) fn bytes(&self) -> usize {
        (usize::from(self.bit) + self.bits).div_ceil(8)
    }

    pub(crate) fn end(&self) -> usize {
        self.byte + self.bytes()
    }
}

/// A message or a structure, flat.
#[derive(Debug, Clone, Default)]
pub(crate) struct FlatMessage<'d> {
    pub(crate) leaves: Vec<Leaf<'d>>,
    /// The first byte behind it; of what is known where the length is not always the same.
    pub(crate) end: usize,
    /// Why the length is not always the same.
    pub(crate) variable: Option<Reason>,
    /// Keys of tables in it.
    pub(crate) keys: Vec<MessageKey<'d>>,
}
