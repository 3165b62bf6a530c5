//! `DIAG-SERVICE`, `REQUEST`, `POS-RESPONSE`.

use super::head::{by_identifier, head, reference};
use super::parameter::parameters;
use crate::input::{Element, Fault};
use crate::model::{Message, Service};

pub(super) fn service(element: &Element) -> Result<Service, Fault> {
    let references = |outer, name| element.list(outer, name).map(by_identifier).collect::<Result<Vec<_>, Fault>>();
    Ok(Service {
        head: head(element)?,
        classes: references("FUNCT-CLASS-REFS", "FUNCT-CLASS-REF")?,
        request: reference(element, "REQUEST")?,
        responses: references("POS-RESPONSE-REFS", "POS-RESPONSE-REF")?,
    })
}

pub(super) fn message(element: &Element) -> Result<Message, Fault> {
    Ok(Message { parameters: parameters(element)? })
}
