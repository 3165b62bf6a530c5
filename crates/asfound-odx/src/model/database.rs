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
    Table(usize, usize),
    /// A row of a table: layer, table, row.
    Row(usize, usize, usize),
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
    /// The language of its texts, as in `de-DE`, where it says so.
    pub(crate) language: Option<Box<str>>,
    /// Objects by identifier.
    pub(crate) ids: HashMap<Box<str>, ObjectPlace>,
    /// What identifiers meant before they were given anew, where that is to be taken back.
    pub(crate) named: Option<Vec<(Box<str>, Option<ObjectPlace>)>>,
}

impl Document {
    /// Gives an identifier to an object; an identifier that another one has already means neither. Says whether it is the
    /// object's own.
    pub(crate) fn name_object(&mut self, id: &str, object: ObjectPlace) -> bool {
        let before = self.ids.insert(Box::from(id), object);
        if before.is_some() {
            self.ids.insert(Box::from(id), ObjectPlace::Ambiguous);
        }
        if let Some(log) = &mut self.named {
            log.push((Box::from(id), before));
        }
        before.is_none()
    }

    /// Takes back what identifiers were given since `named` began.
    pub(crate) fn unname(&mut self) {
        for (id, before) in self.named.take().unwrap_or_default().into_iter().rev() {
            match before {
                Some(before) => self.ids.insert(id, before),
                None => self.ids.remove(&id),
            };
        }
    }
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

    /// Lets go of what was read last of a layer: all but what its outline has.
    pub(crate) fn empty(&mut self, layer: usize) {
        let own = &mut self.layers[layer];
        let head = std::mem::take(&mut own.head);
        let outline = Layer::new(own.kind, own.document, None, head.line);
        let (parents, language) = (std::mem::take(&mut own.parents), own.language.take());
        *own = Layer { head, language, parents, ..outline };
        let document = own.document;
        self.documents[document].unname();
    }

    /// The language of a layer's texts, where the documents say so.
    pub(crate) fn language(&self, layer: usize) -> Option<&str> {
        let own = &self.layers[layer];
        own.language.as_deref().or(self.documents[own.document].language.as_deref())
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
