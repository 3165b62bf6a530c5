//! The objects of a data dictionary.

use super::coded_type::coded_type;
use super::computation::{computation, constraint};
use super::head::{by_identifier, head, reference};
use super::parameter::parameters;
use super::trouble::trouble_codes;
use crate::input::{Element, Fault};
use crate::model::{
    BaseType, DataObject, EnvironmentData, EnvironmentDescription, Field, FieldCount, Multiplexer, ObjectKind,
    Property, StructureShape,
};

/// A data object, by the name of its element; nothing for elements that are none.
pub(super) fn data_object(element: &Element) -> Result<Option<DataObject>, Fault> {
    let kind = match &*element.name {
        "DATA-OBJECT-PROP" => ObjectKind::Property(Box::new(property(element)?)),
        "DTC-DOP" => ObjectKind::TroubleCodes(Box::new(trouble_codes(element)?)),
        "STRUCTURE" => ObjectKind::Structure(structure(element)?),
        "ENV-DATA" => ObjectKind::EnvironmentData(environment_data(element)?),
        "STATIC-FIELD" => field(
            element,
            FieldCount::Fixed {
                items: element.required_number("FIXED-NUMBER-OF-ITEMS")?,
                item_size: element.required_number("ITEM-BYTE-SIZE")?,
            },
        )?,
        "END-OF-PDU-FIELD" => field(
            element,
            FieldCount::ToEnd {
                least: element.number("MIN-NUMBER-OF-ITEMS")?,
                most: element.number("MAX-NUMBER-OF-ITEMS")?,
            },
        )?,
        "DYNAMIC-LENGTH-FIELD" => field(element, FieldCount::Counted)?,
        "DYNAMIC-ENDMARKER-FIELD" => field(element, FieldCount::Marked)?,
        "MUX" => ObjectKind::Multiplexer(Box::new(multiplexer(element)?)),
        "ENV-DATA-DESC" => ObjectKind::EnvironmentDescription(EnvironmentDescription {
            references: element
                .list("ENV-DATA-REFS", "ENV-DATA-REF")
                .map(by_identifier)
                .collect::<Result<_, Fault>>()?,
            inside: element.list("ENV-DATAS", "ENV-DATA").map(environment_data).collect::<Result<_, Fault>>()?,
        }),
        _ => return Ok(None),
    };
    Ok(Some(DataObject { head: head(element)?, kind }))
}

fn structure(element: &Element) -> Result<StructureShape, Fault> {
    Ok(StructureShape { byte_size: element.number("BYTE-SIZE")?, parameters: parameters(element)? })
}

fn environment_data(element: &Element) -> Result<EnvironmentData, Fault> {
    Ok(EnvironmentData { shape: structure(element)?, always: element.child("ALL-VALUE").is_some() })
}

fn property(element: &Element) -> Result<Property, Fault> {
    let physical = element.required("PHYSICAL-TYPE")?;
    let base = BaseType::named(physical.required_attribute("BASE-DATA-TYPE")?);
    Ok(Property {
        coded: coded_type(element.required("DIAG-CODED-TYPE")?)?,
        whole: base.is_some_and(BaseType::is_integer),
        precision: physical.number("PRECISION")?,
        computation: computation(element.required("COMPU-METHOD")?)?,
        unit: reference(element, "UNIT")?,
        internal: constraint(element.child("INTERNAL-CONSTR"))?,
        physical: constraint(element.child("PHYS-CONSTR"))?,
    })
}

fn field(element: &Element, count: FieldCount) -> Result<ObjectKind, Fault> {
    Ok(ObjectKind::Field(Field { count, structure: reference(element, "BASIC-STRUCTURE")? }))
}

fn multiplexer(element: &Element) -> Result<Multiplexer, Fault> {
    let key = element.required("SWITCH-KEY")?;
    let mut cases = Vec::new();
    for case in element.list("CASES", "CASE") {
        cases.push(reference(case, "STRUCTURE")?);
    }
    if let Some(default) = element.child("DEFAULT-CASE") {
        cases.push(reference(default, "STRUCTURE")?);
    }
    Ok(Multiplexer {
        byte: element.number("BYTE-POSITION")?.unwrap_or(0),
        key_byte: key.required_number("BYTE-POSITION")?,
        key_bit: key.number("BIT-POSITION")?.unwrap_or(0),
        key: reference(key, "DATA-OBJECT-PROP")?,
        cases,
    })
}
