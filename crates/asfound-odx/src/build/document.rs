//! One document, from its first element on.

use std::collections::HashMap;
use std::sync::Arc;

use super::head::language;
use super::layer::{Depth, add_layer, read_layer};
use crate::error::OdxError;
use crate::input::Xml;
use crate::model::{Database, Document, LayerKind};

/// One pass over all documents.
pub(crate) struct Pass<'p, E> {
    /// What is read of a layer, by its number and its kind.
    pub(crate) depth: &'p dyn Fn(usize, LayerKind) -> Depth,
    /// Told of each layer that was read.
    pub(crate) after: &'p mut dyn FnMut(&mut Database, usize) -> Result<(), E>,
    /// Whether documents and layers are added; otherwise they are known from an earlier pass.
    pub(crate) adds: bool,
    /// Numbers of the next document and the next layer.
    pub(crate) document: usize,
    pub(crate) layer: usize,
}

/// Reads a document into the database. What is not about diagnostic layers is passed over.
pub(crate) fn read_document<E: From<OdxError>>(
    xml: &mut Xml<'_>,
    into: &mut Database,
    pass: &mut Pass<'_, E>,
) -> Result<(), E> {
    let document = Arc::clone(xml.document());
    let Some(root) = xml.next_child()? else { return Err(OdxError::Empty { document }.into()) };
    if &*root.name != "ODX" {
        return Err(OdxError::NotOdx { document, found: crate::error::shown(&root.name) }.into());
    }
    while let Some(category) = xml.next_child()? {
        if &*category.name == "DIAG-LAYER-CONTAINER" {
            container(xml, into, pass)?;
        } else {
            xml.skip()?;
        }
    }
    // What stands behind the root must be well-formed, too.
    while xml.next_child()?.is_some() {
        xml.skip()?;
    }
    Ok(())
}

fn container<E: From<OdxError>>(xml: &mut Xml<'_>, into: &mut Database, pass: &mut Pass<'_, E>) -> Result<(), E> {
    let number = pass.document;
    pass.document += 1;
    if pass.adds {
        let name = Arc::clone(xml.document());
        let container = Box::from("");
        into.documents.push(Document { name, container, language: None, ids: HashMap::new(), named: None });
    }
    while let Some(child) = xml.next_child()? {
        match &*child.name {
            "SHORT-NAME" if pass.adds => into.documents[number].container = xml.element(child)?.words().into(),
            "ADMIN-DATA" if pass.adds => into.documents[number].language = language(&xml.element(child)?),
            "PROTOCOLS" | "FUNCTIONAL-GROUPS" | "ECU-SHARED-DATAS" | "BASE-VARIANTS" | "ECU-VARIANTS" => {
                while let Some(layer) = xml.next_child()? {
                    let Some(kind) = LayerKind::of_element(&layer.name) else {
                        xml.skip()?;
                        continue;
                    };
                    let at = pass.layer;
                    pass.layer += 1;
                    if pass.adds {
                        add_layer(kind, &layer, number, into);
                    } else if into.layers.get(at).is_none_or(|known| known.document != number) {
                        return Err(changed(xml).into());
                    }
                    into.documents[number].named = (!pass.adds).then(Vec::new);
                    read_layer(at, (pass.depth)(at, kind), &layer, xml, into)?;
                    if pass.adds {
                        let short_name = into.layers[at].head.short_name.clone();
                        into.layer_names.entry(short_name).or_default().push(at);
                    }
                    (pass.after)(into, at)?;
                    into.documents[number].named = None;
                }
            }
            _ => xml.skip()?,
        }
    }
    if pass.adds {
        let container = into.documents[number].container.clone();
        into.containers.entry(container).or_default().push(number);
    }
    Ok(())
}

/// A document that is another one than it was when it was read before.
fn changed(xml: &Xml<'_>) -> OdxError {
    OdxError::Unreadable { document: Arc::clone(xml.document()), why: "it was altered while it was read".to_owned() }
}
