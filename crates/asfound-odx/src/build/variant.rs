//! `ECU-VARIANT-PATTERN`.

use crate::input::{Element, Fault};
use crate::model::{Matching, Pattern};

pub(super) fn pattern(element: &Element) -> Result<Pattern, Fault> {
    let matching = |element: &Element| {
        Ok(Matching {
            expected: Box::from(element.required_text("EXPECTED-VALUE")?),
            service: Box::from(element.required("DIAG-COMM-SNREF")?.required_attribute("SHORT-NAME")?),
            parameter: element
                .child("OUT-PARAM-IF-SNREF")
                .map(|reference| reference.required_attribute("SHORT-NAME").map(Box::from))
                .transpose()?,
            line: element.line,
        })
    };
    let all = element.list("MATCHING-PARAMETERS", "MATCHING-PARAMETER");
    Ok(Pattern { matching: all.map(matching).collect::<Result<_, Fault>>()? })
}
