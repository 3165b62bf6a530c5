//! Descriptions in a table of cells.

use super::line::take;
use super::{DescriptionFault, DescriptionTable, DescriptionsError};
use crate::table::cells_of;

pub(super) fn parse(bytes: &[u8]) -> Result<DescriptionTable, DescriptionsError> {
    let whole = |what: String| DescriptionsError::Lines(vec![DescriptionFault { line: None, what }]);
    let mut lines = cells_of(bytes)?.into_iter();
    let (line, heads) = lines.next().ok_or_else(|| whole("the table is empty".to_owned()))?;
    let column = |name: &str| {
        let mut places = heads.iter().enumerate().filter(|(_, head)| head.eq_ignore_ascii_case(name));
        match (places.next(), places.next()) {
            (Some((at, _)), None) => Ok(at),
            (None, _) => {
                Err(format!("there is no column `{name}`; a table of descriptions has `code` and `description`"))
            }
            (Some(_), Some(_)) => Err(format!("there are several columns `{name}`")),
        }
    };
    let at_head = |what: String| DescriptionsError::Lines(vec![DescriptionFault { line: Some(line), what }]);
    let (code, text) = (column("code").map_err(at_head)?, column("description").map_err(at_head)?);
    let (mut table, mut faults) = (DescriptionTable::default(), Vec::new());
    for (line, cells) in lines {
        let cell = |at: usize| cells.get(at).map(String::as_str).unwrap_or_default();
        if let Err(what) = take(&mut table.descriptions, cell(code), cell(text)) {
            faults.push(DescriptionFault { line: Some(line), what });
        }
    }
    if !faults.is_empty() {
        return Err(DescriptionsError::Lines(faults));
    }
    if table.descriptions.is_empty() {
        return Err(whole("the table describes no code".to_owned()));
    }
    Ok(table)
}
