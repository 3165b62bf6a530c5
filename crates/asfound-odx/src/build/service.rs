//! `DIAG-SERVICE`, `REQUEST`, `POS-RESPONSE`, `TABLE`.

use super::head::{by_identifier, head, reference};
use super::parameter::parameters;
use crate::input::{Element, Fault};
use crate::model::{Message, Row, Service, Table};

pub(super) fn service(element: &Element) -> Result<Service, Fault> {
    let references = |outer, name| element.list(outer, name).map(by_identifier).collect::<Result<Vec<_>, Fault>>();
    Ok(Service {
        head: head(element)?,
        semantic: element.attribute("SEMANTIC").map(Box::from),
        classes: references("FUNCT-CLASS-REFS", "FUNCT-CLASS-REF")?,
        request: reference(element, "REQUEST")?,
        responses: references("POS-RESPONSE-REFS", "POS-RESPONSE-REF")?,
    })
}

pub(super) fn message(element: &Element) -> Result<Message, Fault> {
    Ok(Message { head: head(element)?, parameters: parameters(element)? })
}

pub(super) fn table(element: &Element) -> Result<Table, Fault> {
    let row = |element: &Element| {
        Ok(Row {
            head: head(element)?,
            key: Box::from(element.required_text("KEY")?),
            object: match reference(element, "STRUCTURE")? {
                Some(structure) => Some(structure),
                None => reference(element, "DATA-OBJECT-PROP")?,
            },
        })
    };
    Ok(Table {
        head: head(element)?,
        key: reference(element, "KEY-DOP")?,
        rows: element.named("TABLE-ROW").map(row).collect::<Result<_, Fault>>()?,
    })
}
