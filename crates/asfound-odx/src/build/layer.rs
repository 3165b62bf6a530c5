//! One layer, object by object: what was read of one is let go before the next.

use super::data_object::data_object;
use super::head::{by_identifier, head, language};
use super::service::{message, service};
use super::table::table;
use super::variant::pattern;
use crate::error::{OdxError, Place};
use crate::input::{Element, Fault, Head, Xml};
use crate::model::{DataObject, Database, Layer, LayerKind, ObjectKind, ObjectPlace, Parent, ServiceEntry, Unit};

/// Adds a layer that just began, without anything in it; gives its place in the list.
pub(super) fn add_layer(kind: LayerKind, opened: &Head, document: usize, into: &mut Database) -> usize {
    let number = into.layers.len();
    let id: Option<Box<str>> = opened.attribute("ID").map(Box::from);
    into.layers.push(Layer::new(kind, document, id.clone(), opened.line));
    if let Some(id) = id
        && !into.documents[document].name_object(&id, ObjectPlace::Layer(number))
    {
        let place = into.place(number, opened.line, Some(&id));
        into.problems.push(OdxError::Object { place, what: "another layer has the same identifier".to_owned() });
    }
    number
}

/// What is read of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Depth {
    /// Its names, and what it inherits from.
    Outline,
    /// All of it.
    Whole,
    /// What an outline has not.
    Contents,
    /// Nothing.
    Nothing,
}

/// Reads a layer that was added.
pub(super) fn read_layer(
    number: usize,
    depth: Depth,
    opened: &Head,
    xml: &mut Xml<'_>,
    into: &mut Database,
) -> Result<(), OdxError> {
    if depth == Depth::Nothing {
        return xml.skip();
    }
    let (outline, contents) = (depth != Depth::Contents, depth != Depth::Outline);
    while let Some(child) = xml.next_child()? {
        match &*child.name {
            "SHORT-NAME" | "LONG-NAME" | "DESC" if outline => {
                let element = xml.element(child)?;
                name(&element, &mut into.layers[number]);
            }
            "ADMIN-DATA" if outline => {
                let element = xml.element(child)?;
                into.layers[number].language = language(&element);
            }
            "PARENT-REFS" if outline => {
                while let Some(item) = xml.next_child()? {
                    let element = xml.element(item)?;
                    let added = add(&element, &mut into.layers[number]);
                    keep(added, &element, number, into);
                }
            }
            _ if !contents => xml.skip()?,
            "DIAG-DATA-DICTIONARY-SPEC" => {
                while let Some(list) = xml.next_child()? {
                    objects(&list, number, xml, into)?;
                }
            }
            "DIAG-COMMS" | "REQUESTS" | "POS-RESPONSES" | "FUNCT-CLASSS" | "IMPORT-REFS" | "ECU-VARIANT-PATTERNS" => {
                while let Some(item) = xml.next_child()? {
                    let element = xml.element(item)?;
                    let added = add(&element, &mut into.layers[number]);
                    keep(added, &element, number, into);
                }
            }
            _ => xml.skip()?,
        }
    }
    if outline && into.layers[number].head.short_name.is_empty() {
        let place = into.place(number, opened.line, opened.attribute("ID"));
        return Err(OdxError::Object { place, what: format!("`{}` has no `SHORT-NAME`", opened.name) });
    }
    Ok(())
}

fn name(element: &Element, layer: &mut Layer) {
    let words: Box<str> = element.words().into();
    match &*element.name {
        "SHORT-NAME" => layer.head.short_name = words,
        "LONG-NAME" => layer.head.long_name = (!words.is_empty()).then_some(words),
        _ => layer.head.description = (!words.is_empty()).then_some(words),
    }
}

/// One list of a data dictionary.
fn objects(list: &Head, number: usize, xml: &mut Xml<'_>, into: &mut Database) -> Result<(), OdxError> {
    match &*list.name {
        "DATA-OBJECT-PROPS"
        | "DTC-DOPS"
        | "STRUCTURES"
        | "ENV-DATAS"
        | "STATIC-FIELDS"
        | "END-OF-PDU-FIELDS"
        | "DYNAMIC-LENGTH-FIELDS"
        | "DYNAMIC-ENDMARKER-FIELDS"
        | "MUXS"
        | "ENV-DATA-DESCS" => {
            while let Some(item) = xml.next_child()? {
                let element = xml.element(item)?;
                let added = match data_object(&element) {
                    Ok(Some(object)) => Ok(Some(add_object(object, number, into))),
                    Ok(None) => Ok(None),
                    Err(fault) => Err(fault),
                };
                keep(added, &element, number, into);
            }
        }
        "TABLES" => {
            while let Some(item) = xml.next_child()? {
                let element = xml.element(item)?;
                let added =
                    if &*element.name == "TABLE" { add_table(&element, number, into).map(Some) } else { Ok(None) };
                keep(added, &element, number, into);
            }
        }
        "UNIT-SPEC" => {
            while let Some(inner) = xml.next_child()? {
                if &*inner.name != "UNITS" {
                    xml.skip()?;
                    continue;
                }
                while let Some(item) = xml.next_child()? {
                    let element = xml.element(item)?;
                    let added = element.required_text("DISPLAY-NAME").map(|display| {
                        let units = &mut into.layers[number].units;
                        units.push(Unit { display: Box::from(display) });
                        Some(ObjectPlace::Unit(number, units.len() - 1))
                    });
                    keep(added, &element, number, into);
                }
            }
        }
        _ => xml.skip()?,
    }
    Ok(())
}

fn add_table(element: &Element, number: usize, into: &mut Database) -> Result<ObjectPlace, Fault> {
    let table = table(element)?;
    let layer = &mut into.layers[number];
    let (place, document) = (layer.tables.len(), layer.document);
    for (at, row) in table.rows.iter().enumerate() {
        if let Some(id) = &row.content.head.id {
            into.documents[document].name_object(id, ObjectPlace::Row(number, place, at));
        }
    }
    layer.tables.push(table);
    Ok(ObjectPlace::Table(number, place))
}

fn add_object(object: DataObject, number: usize, into: &mut Database) -> ObjectPlace {
    let place = into.layers[number].objects.len();
    if let ObjectKind::TroubleCodes(codes) = &object.kind {
        let ids: Vec<_> = codes.codes.iter().map(|code| code.head.id.clone()).collect();
        let document = into.layers[number].document;
        for (at, id) in ids.into_iter().enumerate() {
            if let Some(id) = id {
                into.documents[document].name_object(&id, ObjectPlace::Code(number, place, at));
            }
        }
    }
    let layer = &mut into.layers[number];
    layer.by_name.entry(object.head.short_name.clone()).or_insert(place);
    layer.objects.push(object);
    ObjectPlace::Object(number, place)
}

/// Adds an object outside the data dictionary; the layer's number is not yet in what is given back.
fn add(element: &Element, layer: &mut Layer) -> Result<Option<ObjectPlace>, Fault> {
    Ok(match &*element.name {
        "DIAG-SERVICE" => {
            layer.services.push(service(element)?);
            let at = layer.services.len() - 1;
            layer.entries.push(ServiceEntry::Own(at));
            Some(ObjectPlace::Service(0, at))
        }
        "DIAG-COMM-REF" => {
            layer.entries.push(ServiceEntry::Elsewhere(by_identifier(element)?));
            None
        }
        "REQUEST" => {
            layer.requests.push(message(element)?);
            Some(ObjectPlace::Request(0, layer.requests.len() - 1))
        }
        "POS-RESPONSE" => {
            layer.responses.push(message(element)?);
            Some(ObjectPlace::Response(0, layer.responses.len() - 1))
        }
        "FUNCT-CLASS" => {
            layer.classes.push(head(element)?);
            Some(ObjectPlace::Class(0, layer.classes.len() - 1))
        }
        "IMPORT-REF" => {
            layer.imports.push(by_identifier(element)?);
            None
        }
        "PARENT-REF" => {
            layer.parents.push(parent(element)?);
            None
        }
        "ECU-VARIANT-PATTERN" => {
            layer.patterns.push(pattern(element)?);
            None
        }
        _ => None,
    })
}

fn parent(element: &Element) -> Result<Parent, Fault> {
    let names = |outer, inner: &str, reference: &str| {
        let list = element.child(outer).into_iter().flat_map(|list| &list.children);
        let named = list.filter(|item| &*item.name == inner).filter_map(|item| item.child(reference));
        named.filter_map(|name| name.attribute("SHORT-NAME")).map(Box::from).collect()
    };
    Ok(Parent {
        reference: by_identifier(element)?,
        without_services: names("NOT-INHERITED-DIAG-COMMS", "NOT-INHERITED-DIAG-COMM", "DIAG-COMM-SNREF"),
        without_objects: names("NOT-INHERITED-DOPS", "NOT-INHERITED-DOP", "DOP-BASE-SNREF"),
        without_tables: names("NOT-INHERITED-TABLES", "NOT-INHERITED-TABLE", "TABLE-SNREF"),
    })
}

/// Keeps the identifier of what was added, or what is wrong with it.
fn keep(added: Result<Option<ObjectPlace>, Fault>, element: &Element, number: usize, into: &mut Database) {
    let document = into.layers[number].document;
    match added {
        Ok(Some(found)) => {
            let Some(id) = element.attribute("ID") else { return };
            let found = match found {
                ObjectPlace::Service(_, at) => ObjectPlace::Service(number, at),
                ObjectPlace::Request(_, at) => ObjectPlace::Request(number, at),
                ObjectPlace::Response(_, at) => ObjectPlace::Response(number, at),
                ObjectPlace::Class(_, at) => ObjectPlace::Class(number, at),
                other => other,
            };
            if !into.documents[document].name_object(id, found) {
                let place = into.place(number, element.line, Some(id));
                into.problems
                    .push(OdxError::Object { place, what: "another object has the same identifier".to_owned() });
            }
        }
        Ok(None) => {}
        Err(Fault { line, what }) => {
            let id = element.attribute("ID").map(Box::from);
            let place = Place { document: into.documents[document].name.clone(), line, id };
            into.problems.push(OdxError::Object { place, what });
        }
    }
}
