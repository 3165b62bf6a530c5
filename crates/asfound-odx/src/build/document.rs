//! One document, from its first element on.

use std::collections::HashMap;
use std::sync::Arc;

use super::layer::read_layer;
use crate::error::OdxError;
use crate::input::Xml;
use crate::model::{Database, Document, LayerKind};

/// Reads a document into the database. What is not about diagnostic layers is passed over.
pub(crate) fn read_document(xml: &mut Xml<'_>, into: &mut Database) -> Result<(), OdxError> {
    let document = Arc::clone(xml.document());
    let not_odx = |found: &str| OdxError::NotOdx { document: Arc::clone(&document), found: crate::error::shown(found) };
    let Some(root) = xml.next_child()? else { return Err(not_odx("")) };
    if &*root.name != "ODX" {
        return Err(not_odx(&root.name));
    }
    while let Some(category) = xml.next_child()? {
        if &*category.name == "DIAG-LAYER-CONTAINER" {
            container(xml, into)?;
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

fn container(xml: &mut Xml<'_>, into: &mut Database) -> Result<(), OdxError> {
    let number = into.documents.len();
    let name = Arc::clone(xml.document());
    into.documents.push(Document { name, container: Box::from(""), ids: HashMap::new() });
    while let Some(child) = xml.next_child()? {
        match &*child.name {
            "SHORT-NAME" => into.documents[number].container = xml.element(child)?.words().into(),
            "PROTOCOLS" | "FUNCTIONAL-GROUPS" | "ECU-SHARED-DATAS" | "BASE-VARIANTS" | "ECU-VARIANTS" => {
                while let Some(layer) = xml.next_child()? {
                    let Some(kind) = LayerKind::of_element(&layer.name) else {
                        xml.skip()?;
                        continue;
                    };
                    let added = read_layer(kind, &layer, number, xml, into)?;
                    let short_name = into.layers[added].head.short_name.clone();
                    into.layer_names.entry(short_name).or_default().push(added);
                }
            }
            _ => xml.skip()?,
        }
    }
    let container = into.documents[number].container.clone();
    into.containers.entry(container).or_default().push(number);
    Ok(())
}
