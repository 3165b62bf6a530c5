//! `TABLE`.

use super::head::{by_identifier, head, reference};
use crate::input::{Element, Fault};
use crate::model::{Parameter, ParameterKind, RowEntry, Table, TableRow};

pub(super) fn table(element: &Element) -> Result<Table, Fault> {
    let mut table =
        Table { head: head(element)?, key: reference(element, "KEY-DOP")?, rows: Vec::new(), entries: Vec::new() };
    for child in &element.children {
        match &*child.name {
            "TABLE-ROW" => {
                table.entries.push(RowEntry::Own(table.rows.len()));
                table.rows.push(row(child)?);
            }
            "TABLE-ROW-REF" => table.entries.push(RowEntry::Elsewhere(by_identifier(child)?)),
            _ => {}
        }
    }
    Ok(table)
}

fn row(element: &Element) -> Result<TableRow, Fault> {
    let structure = reference(element, "STRUCTURE")?;
    let object = structure.map_or_else(|| reference(element, "DATA-OBJECT-PROP"), |structure| Ok(Some(structure)))?;
    let classes = element.list("FUNCT-CLASS-REFS", "FUNCT-CLASS-REF").map(by_identifier);
    Ok(TableRow {
        key: Box::from(element.required_text("KEY")?),
        classes: classes.collect::<Result<_, Fault>>()?,
        content: Parameter {
            head: head(element)?,
            semantic: element.attribute("SEMANTIC").map(Box::from),
            byte: None,
            bit: 0,
            kind: ParameterKind::Value { object },
        },
    })
}
