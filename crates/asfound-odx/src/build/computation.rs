//! `COMPU-METHOD`, `INTERNAL-CONSTR`, `PHYS-CONSTR`.

use crate::error::shown;
use crate::input::{Element, Fault};
use crate::model::{Category, Computation, Constraint, Limit, LimitKind, Rational, Scale, Validity, ValidityRange};

pub(super) fn computation(element: &Element) -> Result<Computation, Fault> {
    let name = element.required_text("CATEGORY")?;
    let category = Category::named(name)
        .ok_or_else(|| element.fault(format!("the computation `{}` is not one of the standard's", shown(name))))?;
    let forward = element.child("COMPU-INTERNAL-TO-PHYS");
    let scales = forward.map_or_else(Vec::new, |forward| forward.list("COMPU-SCALES", "COMPU-SCALE").collect());
    let default = forward.and_then(|forward| forward.child("COMPU-DEFAULT-VALUE"));
    Ok(Computation {
        category,
        scales: scales.into_iter().map(scale).collect::<Result<_, _>>()?,
        default: default.and_then(|value| value.text_of("VT").or_else(|| value.text_of("V"))).map(Box::from),
    })
}

fn scale(element: &Element) -> Result<Scale, Fault> {
    let constant = element.child("COMPU-CONST");
    let inverse = element.child("COMPU-INVERSE-VALUE");
    let rational = element.child("COMPU-RATIONAL-COEFFS").map(|coefficients| {
        let numbers = |name| coefficients.list(name, "V").map(|v| Box::from(v.text.trim())).collect();
        Rational { numerator: numbers("COMPU-NUMERATOR"), denominator: numbers("COMPU-DENOMINATOR") }
    });
    Ok(Scale {
        lower: limit(element, "LOWER-LIMIT")?,
        upper: limit(element, "UPPER-LIMIT")?,
        inverse: inverse.and_then(|value| value.text_of("V").or_else(|| value.text_of("VT"))).map(Box::from),
        // Space around a text is part of it; odxtools keeps it, too.
        text: constant.and_then(|value| value.child("VT")).map(|vt| Box::from(vt.text.as_str())),
        number: constant.and_then(|value| value.text_of("V")).map(Box::from),
        rational,
    })
}

pub(super) fn limit(element: &Element, name: &str) -> Result<Option<Limit>, Fault> {
    let Some(limit) = element.child(name) else { return Ok(None) };
    let kind = match limit.attribute("INTERVAL-TYPE") {
        None | Some("CLOSED") => LimitKind::Closed,
        Some("OPEN") => LimitKind::Open,
        Some("INFINITE") => LimitKind::Infinite,
        Some(other) => {
            return Err(limit.fault(format!("the interval `{}` is not one of the standard's", shown(other))));
        }
    };
    let text = limit.text.trim();
    // Without a value there is nothing to compare with.
    let kind = if text.is_empty() { LimitKind::Infinite } else { kind };
    Ok(Some(Limit { text: Box::from(text), kind }))
}

pub(super) fn constraint(element: Option<&Element>) -> Result<Constraint, Fault> {
    let Some(element) = element else { return Ok(Constraint::default()) };
    let range = |range: &Element| {
        let validity = match range.attribute("VALIDITY") {
            None | Some("VALID") => Validity::Valid,
            Some(_) => Validity::Excluded,
        };
        Ok(ValidityRange { lower: limit(range, "LOWER-LIMIT")?, upper: limit(range, "UPPER-LIMIT")?, validity })
    };
    Ok(Constraint {
        lower: limit(element, "LOWER-LIMIT")?,
        upper: limit(element, "UPPER-LIMIT")?,
        ranges: element.list("SCALE-CONSTRS", "SCALE-CONSTR").map(range).collect::<Result<_, _>>()?,
    })
}
