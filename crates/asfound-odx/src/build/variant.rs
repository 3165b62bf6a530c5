//! `ECU-VARIANT-PATTERN`.

use crate::input::{Element, Fault};
use crate::model::{Matching, Pattern};

pub(super) fn pattern(element: &Element) -> Result<Pattern, Fault> {
    let matching = |element: &Element| {
        Ok(Matching {
            expected: Box::from(element.required_text("EXPECTED-VALUE")?),
            service: Box::from(element.required("DIAG-COMM-SNREF")?.required_attribute("SHORT-NAME")?),
            parameter: parameter(element)?,
            line: element.line,
        })
    };
    let all = element.list("MATCHING-PARAMETERS", "MATCHING-PARAMETER");
    Ok(Pattern { matching: all.map(matching).collect::<Result<_, Fault>>()? })
}

/// The parameter that is read, by its short name or by a path of short names from the outside in.
fn parameter(element: &Element) -> Result<Option<Box<str>>, Fault> {
    if let Some(name) = element.child("OUT-PARAM-IF-SNREF") {
        return name.required_attribute("SHORT-NAME").map(|name| Some(Box::from(name)));
    }
    let path = element.child("OUT-PARAM-IF-SNPATHREF");
    path.map(|path| path.required_attribute("SHORT-NAME-PATH").map(Box::from)).transpose()
}
