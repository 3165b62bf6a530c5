//! How a value becomes a setting: layout, unit, permitted values; or why it stays bytes.

use asfound_core::definition::Permitted;
use asfound_core::layout::{Coded, Coding, Conversion, Layout, Placement, ValueKind};
use asfound_core::value::Value;

use super::calculation::{Calculation, calculation};
use super::leaf::Leaf;
use super::number::{allows, at_least, at_most, nearest};
use super::place::{numbers, place};
use crate::model::{Constraint, Property, Validity};
use crate::reason::Reason;
use crate::view::View;

/// What stands behind a number that has fractions and no unit: a quantity cannot be without one.
pub(crate) const NO_UNIT: &str = "(no unit)";
/// The decimal places that are tried first where a number never ends.
const USUAL_PLACES: u8 = 6;
/// The most decimal places that are tried then.
const MOST_PLACES: u8 = 12;
/// The most values that are listed one by one.
const MOST_LISTED: i128 = 64;

/// A value as a setting has it.
#[derive(Debug, Clone)]
pub(crate) struct SettingShape {
    pub(crate) layout: Layout,
    pub(crate) permitted: Permitted,
    /// What is not quite as the documents say, for people.
    pub(crate) notes: Vec<String>,
}

/// The setting of a value; `from` is the first byte of the record in its message.
pub(crate) fn shape(
    leaf: &Leaf<'_>,
    property: &Property,
    layer: usize,
    view: &View<'_>,
    from: usize,
) -> Result<SettingShape, Reason> {
    let (placement, coding) = place(leaf, &property.coded, from)?;
    let mut notes = Vec::new();
    if coding.is_whole_bytes() {
        if calculation(&property.computation, (0, 0)) != Ok(Calculation::Identical) {
            return Err(Reason::Calculation);
        }
        let kind = if coding == Coding::Bytes { ValueKind::Bytes } else { ValueKind::Text };
        let layout = Layout::new(placement, coding, kind, Conversion::Identical).map_err(|_| Reason::Layout)?;
        return Ok(SettingShape { layout, permitted: Permitted::Any, notes });
    }
    let holds = numbers(coding, placement.bits());
    let conversion = match calculation(&property.computation, holds)? {
        Calculation::Identical => Conversion::Identical,
        Calculation::Line(line) => Conversion::Linear(line),
        Calculation::Lines(lines) => Conversion::ScaleLinear(lines),
        Calculation::Names(table, said) => {
            notes.extend(said.into_iter().map(str::to_owned));
            Conversion::Table(table)
        }
    };
    let layout = if let Conversion::Table(_) = conversion {
        Layout::new(placement, coding, ValueKind::Choice, conversion).map_err(|_| Reason::Layout)?
    } else {
        let unit = property.unit.as_ref().and_then(|reference| view.unit(layer, reference));
        let unit = unit.and_then(|unit| unit_text(&unit.display));
        let layout = number(placement, coding, &conversion, unit, property)?;
        if let ValueKind::Quantity { decimals: Some(places), .. } = layout.kind() {
            notes.push(format!("The number never ends; it is shown with {places} places"));
        }
        layout
    };
    if property.computation.default.is_some() && !matches!(layout.conversion(), Conversion::Table(_)) {
        notes.push("The value for all other numbers was not taken over".to_owned());
    }
    let permitted = permitted(&layout, property, holds, &mut notes);
    Ok(SettingShape { layout, permitted, notes })
}

/// A unit as it can stand behind a number.
fn unit_text(display: &str) -> Option<String> {
    let clean: String = display.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let clean = clean.split_whitespace().collect::<Vec<_>>().join(" ");
    if clean.is_empty() || clean.chars().all(|c| matches!(c, '-' | '–' | '—' | '.')) {
        return None;
    }
    // `1/min` would run into the number before it.
    let runs_in = clean.starts_with(|c: char| c.is_ascii_digit() || ".,+-".contains(c));
    Some(if runs_in { format!("[{clean}]") } else { clean })
}

fn number(
    placement: Placement,
    coding: Coding,
    conversion: &Conversion,
    unit: Option<String>,
    property: &Property,
) -> Result<Layout, Reason> {
    let make = |kind: ValueKind| Layout::new(placement, coding, kind, conversion.clone());
    if unit.is_none()
        && let Ok(layout) = make(ValueKind::Integer)
    {
        return Ok(layout);
    }
    let unit = unit.unwrap_or_else(|| NO_UNIT.to_owned());
    let quantity = |decimals| make(ValueKind::Quantity { unit: unit.clone(), decimals });
    if property.whole {
        // The documents want whole numbers. Where the lines do not give them, a value is rounded on the way.
        let whole = make(ValueKind::Integer).is_ok();
        return if whole { quantity(None).map_err(|_| Reason::Calculation) } else { Err(why_not_whole(&quantity)) };
    }
    if let Ok(layout) = quantity(None) {
        return Ok(layout);
    }
    // A number that never ends is shown with the places that the documents ask for, else with six.
    let places = property.precision.into_iter().chain(USUAL_PLACES..=MOST_PLACES).chain(1..USUAL_PLACES);
    places.into_iter().find_map(|places| quantity(Some(places)).ok()).ok_or(Reason::Calculation)
}

/// Whether a layout without whole numbers would do otherwise.
fn why_not_whole(quantity: &dyn Fn(Option<u8>) -> Result<Layout, Vec<asfound_core::layout::LayoutError>>) -> Reason {
    if quantity(None).is_ok() || quantity(Some(MOST_PLACES)).is_ok() { Reason::Rounded } else { Reason::Calculation }
}

/// Which values the constraints leave.
fn permitted(layout: &Layout, property: &Property, holds: (i128, i128), notes: &mut Vec<String>) -> Permitted {
    let internal = within(layout, &property.internal, holds);
    if !property.internal.is_empty() && internal.is_none() {
        notes.push("The limits of the coded value could not be taken over".to_owned());
    }
    if !property.physical.is_empty() {
        match physical(layout, &property.physical, holds) {
            Some(permitted) if property.internal.is_empty() => return permitted,
            Some(Permitted::Any) => {}
            _ => notes.push("The limits of the physical value could not be taken over".to_owned()),
        }
    }
    internal.unwrap_or(Permitted::Any)
}

/// The coded numbers that a constraint leaves: what is within its limits and not excluded, as one range or as a few.
fn coded_within(constraint: &Constraint, (least, most): (i128, i128)) -> Option<Vec<(i128, i128)>> {
    let from = at_least(constraint.lower.as_ref(), least)?.max(least);
    let to = at_most(constraint.upper.as_ref(), most)?.min(most);
    let mut left = vec![(from, to)];
    for range in constraint.ranges.iter().filter(|range| range.validity == Validity::Excluded) {
        let (from, to) = (at_least(range.lower.as_ref(), least)?, at_most(range.upper.as_ref(), most)?);
        // A range that is turned round has nothing in it.
        if from > to {
            continue;
        }
        left = left
            .into_iter()
            .flat_map(|(a, b)| [(a, b.min(from.saturating_sub(1))), (a.max(to.saturating_add(1)), b)])
            .collect();
    }
    left.retain(|(a, b)| a <= b);
    Some(left)
}

fn within(layout: &Layout, constraint: &Constraint, holds: (i128, i128)) -> Option<Permitted> {
    if constraint.is_empty() {
        return Some(Permitted::Any);
    }
    let left = coded_within(constraint, holds)?;
    if left.as_slice() == [holds] {
        return Some(Permitted::Any);
    }
    if let Conversion::Table(table) = layout.conversion() {
        let inside = |number: i128| left.iter().any(|(a, b)| (*a..=*b).contains(&number));
        let names: Vec<Value> = table
            .entries
            .iter()
            .filter(|entry| inside(entry.write))
            .map(|entry| Value::Choice(entry.name.clone()))
            .collect();
        return match names.len() {
            0 => None,
            count if count == table.entries.len() => Some(Permitted::Any),
            _ => Some(Permitted::List(names)),
        };
    }
    match left.as_slice() {
        [(from, to)] => between(layout, *from, *to),
        several => {
            let count: i128 = several.iter().map(|(a, b)| b - a + 1).sum();
            if count > MOST_LISTED || several.is_empty() {
                return None;
            }
            let numbers = several.iter().flat_map(|(a, b)| *a..=*b);
            let values: Option<Vec<Value>> = numbers.map(|number| value(layout, number)).collect();
            values.map(Permitted::List)
        }
    }
}

/// The values of the coded numbers `from` to `to`, where lines only rise or only fall.
fn between(layout: &Layout, from: i128, to: i128) -> Option<Permitted> {
    if let Conversion::ScaleLinear(scales) = layout.conversion()
        && scales.len() > 1
    {
        return None;
    }
    // A line that is not there outside its own range ends the values, too.
    let (from, to) = match layout.conversion() {
        Conversion::ScaleLinear(scales) => (from.max(scales.first()?.from), to.min(scales.first()?.to)),
        _ => (from, to),
    };
    let (a, b) = (value(layout, from)?, value(layout, to)?);
    Some(if a.number()? <= b.number()? {
        Permitted::Range { min: a, max: b }
    } else {
        Permitted::Range { min: b, max: a }
    })
}

/// The value of a coded number.
fn value(layout: &Layout, number: i128) -> Option<Value> {
    let bits = u32::from(layout.placement().bits());
    let coded = match layout.coding() {
        Coding::Bcd | Coding::BcdUnpacked => digits(number, if layout.coding() == Coding::Bcd { 4 } else { 8 })?,
        _ => u64::try_from(number.rem_euclid(1 << bits)).ok()?,
    };
    layout.value_of(&Coded::Number(coded)).ok()
}

fn digits(number: i128, step: u32) -> Option<u64> {
    let (mut rest, mut coded, mut shift) = (u64::try_from(number).ok()?, 0, 0);
    while rest > 0 {
        coded |= (rest % 10) << shift;
        rest /= 10;
        shift += step;
    }
    Some(coded)
}

/// The values that a constraint of the physical value leaves: the largest range of them that can be stored.
fn physical(layout: &Layout, constraint: &Constraint, holds: (i128, i128)) -> Option<Permitted> {
    let excluded = constraint.ranges.iter().any(|range| range.validity == Validity::Excluded);
    if excluded || matches!(layout.conversion(), Conversion::Table(_)) {
        return None;
    }
    let number = |at: i128| value(layout, at).and_then(|value| value.number().map(|number| number.to_ratio()));
    let limits = [constraint.lower.as_ref(), constraint.upper.as_ref()];
    let inside = |at: i128| {
        number(at).is_some_and(|ratio| {
            limits[0].is_none_or(|limit| allows(limit, &ratio, true))
                && limits[1].is_none_or(|limit| allows(limit, &ratio, false))
        })
    };
    // The ends are found by halving: lines only rise or only fall, so what is inside is one piece.
    let (least, most) = match layout.conversion() {
        Conversion::ScaleLinear(scales) if scales.len() == 1 => (scales.first()?.from, scales.first()?.to),
        Conversion::ScaleLinear(_) => return None,
        _ => holds,
    };
    let seed = nearest(limits, least, most, &number)?;
    let from = edge(seed, least, &inside);
    let to = edge(seed, most, &inside);
    if (from, to) == holds { Some(Permitted::Any) } else { between(layout, from, to) }
}

/// The number nearest to `end` that is still inside, going out from one that is.
fn edge(inside_at: i128, end: i128, inside: &dyn Fn(i128) -> bool) -> i128 {
    if inside(end) {
        return end;
    }
    let (mut good, mut bad) = (inside_at, end);
    while good.abs_diff(bad) > 1 {
        let middle = good + (bad - good) / 2;
        if inside(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    good
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Limit, LimitKind, ValidityRange};

    fn limit(text: &str) -> Limit {
        Limit { text: text.into(), kind: LimitKind::Closed }
    }

    #[test]
    fn excluded_ranges_leave_what_is_beside_them() {
        let excluding = |from: &str, to: &str| Constraint {
            ranges: vec![ValidityRange {
                lower: Some(limit(from)),
                upper: Some(limit(to)),
                validity: Validity::Excluded,
            }],
            ..Constraint::default()
        };
        for (from, to, left) in [
            ("6", "7", vec![(0, 5), (8, 15)]),
            ("0", "3", vec![(4, 15)]),
            ("0", "15", vec![]),
            ("20", "30", vec![(0, 15)]),
            // Turned round, as an altered document once had it: nothing is left twice.
            ("7", "1", vec![(0, 15)]),
        ] {
            assert_eq!(coded_within(&excluding(from, to), (0, 15)), Some(left), "{from} to {to}");
        }
    }

    #[test]
    fn units_that_would_run_into_a_number_are_put_in_brackets() {
        for (display, unit) in
            [("km/h", Some("km/h")), ("1/min", Some("[1/min]")), ("-", None), ("  ", None), ("%", Some("%"))]
        {
            assert_eq!(unit_text(display).as_deref(), unit, "{display:?}");
        }
    }
}
