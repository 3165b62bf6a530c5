//! `DTC-DOP` and `DTC`.

use super::coded_type::coded_type;
use super::head::{by_identifier, head};
use crate::input::{Element, Fault};
use crate::model::{TroubleCode, TroubleCodes};

pub(super) fn trouble_codes(element: &Element) -> Result<TroubleCodes, Fault> {
    let linked = |link: &Element| {
        let reference = by_identifier(link.required("DTC-DOP-REF")?)?;
        let without = link.list("NOT-INHERITED-DTC-SNREFS", "NOT-INHERITED-DTC-SNREF");
        let without = without.filter_map(|name| name.attribute("SHORT-NAME")).map(Box::from).collect();
        Ok((reference, without))
    };
    Ok(TroubleCodes {
        coded: coded_type(element.required("DIAG-CODED-TYPE")?)?,
        codes: element.list("DTCS", "DTC").map(trouble_code).collect::<Result<_, _>>()?,
        references: element.list("DTCS", "DTC-REF").map(by_identifier).collect::<Result<_, _>>()?,
        linked: element.list("LINKED-DTC-DOPS", "LINKED-DTC-DOP").map(linked).collect::<Result<_, _>>()?,
    })
}

fn trouble_code(element: &Element) -> Result<TroubleCode, Fault> {
    Ok(TroubleCode {
        head: head(element)?,
        number: element.required_number("TROUBLE-CODE")?,
        display: element.text_of("DISPLAY-TROUBLE-CODE").map(Box::from),
        text: element.required("TEXT")?.words().into(),
    })
}
