//! Whether lines give each coded number a value of its own that can be shown.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed};

use super::lines::{ScaleLine, ScaleLines, places_needed, ratios};
use super::{Conversion, LayoutError, Linear, Scale, ValueKind};
use crate::value::Decimal;

/// The most decimal places that a definition may ask for.
const MOST_PLACES: u8 = 30;

/// The most digits of a number that is shown: as many as [`Decimal`] reads back.
const MOST_DIGITS: u32 = 60;

/// The most values that are compared one by one where scales show values in between each other.
const MOST_COMPARED: u128 = 4096;

/// A scale with its number in the list; the only line of a `scale` has none.
type Numbered<'a> = (Option<usize>, i128, i128, &'a Linear);

/// Finds everything in the lines that does not fit, or gives the lines; `numbers` is what the bits can hold, where that
/// is known.
pub(super) fn fit_lines(
    kind: &ValueKind,
    numbers: Option<(i128, i128)>,
    conversion: &Conversion,
    errors: &mut Vec<LayoutError>,
) -> Option<ScaleLines> {
    let before = errors.len();
    let identical = Linear { numerator: [Decimal::from(0), Decimal::from(1)], denominator: Decimal::from(1) };
    let (least, most) = numbers.unwrap_or((0, 1));
    let scales: Vec<Numbered> = match conversion {
        Conversion::Linear(line) => vec![(None, least, most, line)],
        Conversion::ScaleLinear(scales) => {
            fit_ranges(scales, numbers, errors);
            scales.iter().enumerate().map(|(at, scale)| (Some(at), scale.from, scale.to, &scale.line)).collect()
        }
        Conversion::Identical | Conversion::Table(_) => vec![(None, least, most, &identical)],
    };
    for (scale, from, to, line) in &scales {
        if line.denominator.is_zero() {
            errors.push(LayoutError::ZeroDenominator { scale: *scale });
        }
        // One number alone may well have a line without a slope.
        if line.numerator[1].is_zero() && from < to {
            errors.push(LayoutError::ZeroSlope { scale: *scale });
        }
    }
    if let ValueKind::Quantity { decimals: Some(decimals), .. } = kind
        && *decimals > MOST_PLACES
    {
        errors.push(LayoutError::Decimals { decimals: *decimals, most: MOST_PLACES });
    }
    // What follows calculates with the lines, so they must be sound so far.
    if errors.len() > before || numbers.is_none() {
        return None;
    }
    let places = fit_places(kind, &scales, errors)?;
    let lines: Vec<ScaleLine> =
        scales.iter().filter_map(|(_, from, to, line)| ScaleLine::new(*from, *to, line, places)).collect();
    for ((scale, ..), line) in scales.iter().zip(&lines) {
        if !is_short(line, places) || (*kind == ValueKind::Integer && !is_integer(line)) {
            errors.push(LayoutError::Large { scale: *scale });
        } else if !line.tells_apart() {
            errors.push(LayoutError::Alike { scale: *scale });
        }
    }
    let lines = ScaleLines { places, lines };
    if errors.len() == before {
        fit_apart(&lines, errors);
    }
    (errors.len() == before).then_some(lines)
}

/// Finds scales that are turned round, reach beyond the bits, or share a number with one that starts before them.
fn fit_ranges(scales: &[Scale], numbers: Option<(i128, i128)>, errors: &mut Vec<LayoutError>) {
    if scales.is_empty() {
        errors.push(LayoutError::NoScales);
    }
    for (scale, Scale { from, to, .. }) in scales.iter().enumerate() {
        if from > to {
            errors.push(LayoutError::ScaleTurned { scale, from: *from, to: *to });
        } else if let Some((least, most)) = numbers
            && let Some(number) = [*from, *to].into_iter().find(|number| *number < least || *number > most)
        {
            errors.push(LayoutError::ScaleOutside { scale, number, least, most });
        }
    }
    let mut sorted: Vec<_> = scales.iter().enumerate().filter(|(_, scale)| scale.from <= scale.to).collect();
    sorted.sort_by_key(|(_, scale)| scale.from);
    let mut sorted = sorted.into_iter();
    let Some(mut furthest) = sorted.next() else { return };
    for next in sorted {
        if next.1.from <= furthest.1.to {
            errors.push(LayoutError::ScalesOverlap { first: furthest.0, second: next.0, number: next.1.from });
        }
        if next.1.to > furthest.1.to {
            furthest = next;
        }
    }
}

/// The decimal places to show; nothing where some values do not end, or are fractions in an integer.
fn fit_places(kind: &ValueKind, scales: &[Numbered], errors: &mut Vec<LayoutError>) -> Option<u32> {
    if let ValueKind::Quantity { decimals: Some(decimals), .. } = kind {
        return Some(u32::from(*decimals));
    }
    let mut most = Some(0);
    for (scale, from, to, line) in scales {
        let Some((offset, factor)) = ratios(line) else { continue };
        let first = &offset + &factor * BigRational::from_integer(BigInt::from(*from));
        // All values are the first one and a multiple of the factor on top.
        let step = if from < to { factor } else { BigRational::from_integer(BigInt::from(0)) };
        let needed = places_needed(&first).zip(places_needed(&step)).map(|(first, step)| first.max(step));
        let error = match needed {
            Some(0) => continue,
            _ if *kind == ValueKind::Integer => LayoutError::Fractions { scale: *scale },
            None => LayoutError::NeverEnds { scale: *scale },
            Some(places) if places >= MOST_DIGITS => LayoutError::Large { scale: *scale },
            Some(places) => {
                most = most.map(|most: u32| most.max(places));
                continue;
            }
        };
        errors.push(error);
        most = None;
    }
    most
}

/// Whether all that is shown has few enough digits to be read back.
fn is_short(line: &ScaleLine, places: u32) -> bool {
    let bound = BigInt::from(10).pow(MOST_DIGITS);
    let (least, most) = line.ends();
    places < MOST_DIGITS && least.abs().max(most.abs()) < bound
}

/// Whether all that is shown fits a [`crate::value::Value::Integer`].
fn is_integer(line: &ScaleLine) -> bool {
    let (least, most) = line.ends();
    i128::try_from(least).is_ok() && i128::try_from(most).is_ok()
}

/// Finds scales that show the same value.
fn fit_apart(lines: &ScaleLines, errors: &mut Vec<LayoutError>) {
    let mut sorted: Vec<_> =
        lines.lines.iter().enumerate().map(|(at, line)| (line.ends(), at, line)).collect::<Vec<_>>();
    sorted.sort_by(|a, b| a.0.cmp(&b.0));
    let mut left = MOST_COMPARED;
    for (at, ((_, most), first, line)) in sorted.iter().enumerate() {
        for ((other_least, other_most), second, other) in &sorted[at + 1..] {
            if other_least > most {
                break;
            }
            let (common_least, common_most) = (other_least, most.min(other_most));
            let (first, second) = (*first.min(second), *first.max(second));
            let steps = |line: &ScaleLine| {
                let behind = line.first_step_from(&BigRational::from_integer(common_most + BigInt::one()));
                line.first_step_from(&BigRational::from_integer(common_least.clone()))..behind
            };
            let (ours, theirs) = (steps(line), steps(other));
            let count = |steps: &std::ops::Range<u128>| steps.end - steps.start;
            let (walk, walked, against) =
                if count(&ours) <= count(&theirs) { (ours, *line, *other) } else { (theirs, *other, *line) };
            if left == 0 || count(&walk) > left {
                errors.push(LayoutError::Interleaved { first, second });
                return;
            }
            left = left.saturating_sub(count(&walk).max(1));
            let alike = walk.map(|step| walked.units(walked.at_step(step))).find(|units| {
                let wanted = BigRational::from_integer(units.clone());
                let step = against.first_step_from(&wanted);
                step <= against.last_step() && against.units(against.at_step(step)) == *units
            });
            if let Some(units) = alike {
                errors.push(LayoutError::AlikeAcross { first, second, shown: lines.decimal(units) });
            }
        }
    }
}
