//! `PARAM`.

use super::coded_type::coded_type;
use super::head::{head, reference};
use crate::input::{Element, Fault};
use crate::model::{Parameter, ParameterKind};

/// The parameters of a message or a structure.
pub(super) fn parameters(element: &Element) -> Result<Vec<Parameter>, Fault> {
    element.list("PARAMS", "PARAM").map(parameter).collect()
}

fn parameter(element: &Element) -> Result<Parameter, Fault> {
    let bit = element.number("BIT-POSITION")?.unwrap_or(0);
    if bit > 7 {
        return Err(element.fault(format!("`BIT-POSITION` is {bit}, and a byte has the bits 0 to 7")));
    }
    Ok(Parameter {
        head: head(element)?,
        semantic: element.attribute("SEMANTIC").map(Box::from),
        byte: element.number("BYTE-POSITION")?,
        bit,
        kind: kind(element)?,
    })
}

fn kind(element: &Element) -> Result<ParameterKind, Fault> {
    let object = || reference(element, "DOP");
    Ok(match element.required_attribute("type")? {
        "CODED-CONST" => ParameterKind::CodedConst {
            coded: coded_type(element.required("DIAG-CODED-TYPE")?)?,
            value: Box::from(element.required_text("CODED-VALUE")?),
        },
        "PHYS-CONST" => ParameterKind::PhysicalConst {
            object: object()?,
            value: Box::from(element.text_of("PHYS-CONSTANT-VALUE").unwrap_or_default()),
        },
        "VALUE" => ParameterKind::Value { object: object()? },
        "RESERVED" => ParameterKind::Reserved { bits: element.required_number("BIT-LENGTH")? },
        "MATCHING-REQUEST-PARAM" => ParameterKind::MatchingRequest {
            from: element.required_number::<i64>("REQUEST-BYTE-POS")?.try_into().unwrap_or(usize::MAX),
            bytes: element.required_number("BYTE-LENGTH")?,
        },
        "LENGTH-KEY" => ParameterKind::LengthKey,
        "TABLE-KEY" => {
            ParameterKind::TableKey { table: reference(element, "TABLE")?, row: reference(element, "TABLE-ROW")? }
        }
        "TABLE-STRUCT" => ParameterKind::TableStruct { key: reference(element, "TABLE-KEY")? },
        _ => ParameterKind::Other { object: object()? },
    })
}
