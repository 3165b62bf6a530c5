//! All documents together, and what a reference in them means.

use std::collections::HashMap;
use std::sync::Arc;

use super::{DocType, Layer, Reference, Target};
use crate::error::{OdxError, Place};

/// An object by its place: the layer, and its number in the layer's list of that kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ObjectPlace {
    Layer(usize),
    Service(usize, usize),
    Request(usize, usize),
    Response(usize, usize),
    Object(usize, usize),
    Unit(usize, usize),
    Class(usize, usize),
    /// Several objects of one document have the identifier, so that it means none of them.
    Ambiguous,
    /// A trouble code: layer, object, code.
    Code(usize, usize, usize),
}

/// One document.
#[derive(Debug, Clone)]
pub(crate) struct Document {
    pub(crate) name: Arc<str>,
    /// The short name of its container.
    pub(crate) container: Box<str>,
    /// Objects by identifier.
    pub(crate) ids: HashMap<Box<str>, ObjectPlace>,
}

/// All documents of a package.
#[derive(Debug, Clone, Default)]
pub(crate) struct Database {
    pub(crate) documents: Vec<Document>,
    pub(crate) layers: Vec<Layer>,
    /// Documents by the short names of their containers.
    pub(crate) containers: HashMap<Box<str>, Vec<usize>>,
    /// Layers by short name.
    pub(crate) layer_names: HashMap<Box<str>, Vec<usize>>,
    /// Objects that could not be read.
    pub(crate) problems: Vec<OdxError>,
}

impl Database {
    /// Where something of a layer stands.
    pub(crate) fn place(&self, layer: usize, line: u32, id: Option<&str>) -> Place {
        let document = &self.documents[self.layers[layer].document];
        Place { document: Arc::clone(&document.name), line, id: id.map(Box::from) }
    }

    /// What an identifier means that stands in a layer; nothing for short names, which the layer in view resolves.
    pub(crate) fn find(&self, layer: usize, reference: &Reference) -> Option<ObjectPlace> {
        let Target::Id { id, document } = &reference.target else { return None };
        match document {
            Some((name, kind)) => {
                let candidates: Vec<usize> = match kind {
                    DocType::Container => self.containers.get(name).cloned().unwrap_or_default(),
                    DocType::Layer => {
                        let layers = self.layer_names.get(name).map_or(&[][..], Vec::as_slice);
                        layers.iter().map(|layer| self.layers[*layer].document).collect()
                    }
                };
                candidates.iter().find_map(|document| self.documents[*document].ids.get(id)).copied()
            }
            None => {
                let own = &self.documents[self.layers[layer].document];
                own.ids.get(id).copied().or_else(|| self.imported(layer, id))
            }
        }
    }

    /// An identifier of a library that a layer imports; imports are not passed on.
    fn imported(&self, layer: usize, id: &str) -> Option<ObjectPlace> {
        self.layers[layer].imports.iter().find_map(|import| {
            let Target::Id { document: Some(_), .. } = &import.target else { return None };
            let Some(ObjectPlace::Layer(library)) = self.find(layer, import) else { return None };
            self.documents[self.layers[library].document].ids.get(id).copied()
        })
    }

    /// A reference that refers to nothing, as an error.
    pub(crate) fn unresolved(&self, layer: usize, what: &str, reference: &Reference) -> OdxError {
        OdxError::Unresolved {
            place: self.place(layer, reference.line, None),
            reference: format!("{what} {}", reference.shown()),
        }
    }
}
