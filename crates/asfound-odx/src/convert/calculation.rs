//! The lines and names of a computation, for whole coded numbers.

use asfound_core::layout::{Linear, Scale as CoreScale, TextEntry, TextTable};
use asfound_core::value::Decimal;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::Zero;

use super::number::{at_least, at_most, decimal, from_ratio, is_zero, ratio};
use crate::model::{Category, Computation, Rational, Scale};
use crate::reason::Reason;

/// The most coded numbers for which each gets a line of its own.
const MOST_POINTS: i128 = 256;
/// The longest name of a choice, in characters.
const LONGEST_NAME: usize = 64;

/// What a computation says of coded numbers.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Calculation {
    Identical,
    /// One line for all that the bits hold.
    Line(Linear),
    /// A line for each of several ranges.
    Lines(Vec<CoreScale>),
    /// Names; with what there is to say of them.
    Names(TextTable, Vec<&'static str>),
}

/// What a computation says of the coded numbers `least` to `most`.
pub(super) fn calculation(computation: &Computation, (least, most): (i128, i128)) -> Result<Calculation, Reason> {
    let scales = &computation.scales;
    match computation.category {
        Category::Identical => Ok(Calculation::Identical),
        Category::Code => Err(Reason::Program),
        Category::TextTable => names(computation, least, most),
        Category::Linear => {
            let [scale] = scales.as_slice() else { return Err(Reason::Calculation) };
            let line = line(scale)?;
            let range = range(scale, least, most)?;
            if range == Some((least, most)) {
                return Ok(Calculation::Line(line));
            }
            let (from, to) = range.ok_or(Reason::Calculation)?;
            Ok(Calculation::Lines(vec![CoreScale { from, to, line }]))
        }
        Category::ScaleLinear => {
            let mut lines: Vec<CoreScale> = Vec::new();
            for scale in scales {
                let Some((from, to)) = range(scale, least, most)? else { continue };
                let line = line(scale)?;
                // Where scales meet in one number, the first one counts.
                let from = lines.last().map_or(from, |last| from.max(last.to + 1));
                if from <= to {
                    lines.push(CoreScale { from, to, line });
                }
            }
            some(lines)
        }
        Category::TabInterpolated => interpolated(scales, least, most),
        Category::Rational | Category::ScaleRational => rational(scales, least, most),
    }
}

fn some(lines: Vec<CoreScale>) -> Result<Calculation, Reason> {
    if lines.is_empty() { Err(Reason::Calculation) } else { Ok(Calculation::Lines(lines)) }
}

/// The whole numbers of a scale, of those that the bits hold.
fn range(scale: &Scale, least: i128, most: i128) -> Result<Option<(i128, i128)>, Reason> {
    let from = at_least(scale.lower.as_ref(), least).ok_or(Reason::Calculation)?.max(least);
    let to = at_most(scale.upper.as_ref(), most).ok_or(Reason::Calculation)?.min(most);
    Ok((from <= to).then_some((from, to)))
}

fn line(scale: &Scale) -> Result<Linear, Reason> {
    if scale.rational.is_none()
        && let Some(number) = &scale.number
    {
        let numerator = [decimal(number).ok_or(Reason::Calculation)?, Decimal::from(0)];
        return Ok(Linear { numerator, denominator: Decimal::from(1) });
    }
    let Rational { numerator, denominator } = scale.rational.as_ref().ok_or(Reason::Calculation)?;
    let number = |text: &str| decimal(text).ok_or(Reason::Calculation);
    // Coefficients of higher powers that are nothing change nothing.
    if numerator.iter().skip(2).chain(denominator.iter().skip(1)).any(|text| !is_zero(text)) {
        return Err(Reason::Calculation);
    }
    let offset = number(numerator.first().ok_or(Reason::Calculation)?)?;
    let factor = numerator.get(1).map_or(Ok(Decimal::from(0)), |text| number(text))?;
    let denominator = denominator.first().map_or(Ok(Decimal::from(1)), |text| number(text))?;
    Ok(Linear { numerator: [offset, factor], denominator })
}

/// Straight lines between points.
fn interpolated(scales: &[Scale], least: i128, most: i128) -> Result<Calculation, Reason> {
    let mut points: Vec<(BigRational, BigRational)> = Vec::new();
    for scale in scales {
        let at = scale.lower.as_ref().and_then(|limit| ratio(&limit.text)).ok_or(Reason::Calculation)?;
        let value = scale.number.as_deref().and_then(ratio).ok_or(Reason::Calculation)?;
        if points.last().is_some_and(|(before, _)| *before >= at) {
            return Err(Reason::Calculation);
        }
        points.push((at, value));
    }
    let mut lines: Vec<CoreScale> = Vec::new();
    for pair in points.windows(2) {
        let [(x0, y0), (x1, y1)] = pair else { continue };
        let whole = |ratio: BigRational| i128::try_from(ratio.to_integer()).map_err(|_| Reason::Calculation);
        let from = whole(x0.ceil())?.max(least);
        let from = lines.last().map_or(from, |last| from.max(last.to + 1));
        let to = whole(x1.floor())?.min(most);
        if from > to {
            continue;
        }
        let (dx, dy) = (x1 - x0, y1 - y0);
        // y0 + (x - x0) * dy / dx, over one denominator.
        let parts = [from_ratio(&(y0 * &dx - x0 * &dy)), from_ratio(&dy), from_ratio(&dx)];
        let [Some(offset), Some(factor), Some(denominator)] = parts else { return Err(Reason::Calculation) };
        lines.push(CoreScale { from, to, line: Linear { numerator: [offset, factor], denominator } });
    }
    some(lines)
}

/// A quotient of two polynomials: a line where it is one, else a line for each of few numbers.
fn rational(scales: &[Scale], least: i128, most: i128) -> Result<Calculation, Reason> {
    let mut lines: Vec<CoreScale> = Vec::new();
    for scale in scales {
        let Some((from, to)) = range(scale, least, most)? else { continue };
        let from = lines.last().map_or(from, |last| from.max(last.to + 1));
        if let Ok(line) = line(scale) {
            if from <= to {
                lines.push(CoreScale { from, to, line });
            }
            continue;
        }
        if to.saturating_sub(from) >= MOST_POINTS {
            return Err(Reason::Calculation);
        }
        for at in from..=to {
            let value = from_ratio(&quotient(scale, at)?).ok_or(Reason::Calculation)?;
            let line = Linear { numerator: [value, Decimal::from(0)], denominator: Decimal::from(1) };
            lines.push(CoreScale { from: at, to: at, line });
        }
    }
    match lines.as_slice() {
        [only] if (only.from, only.to) == (least, most) => Ok(Calculation::Line(only.line.clone())),
        _ => some(lines),
    }
}

fn quotient(scale: &Scale, at: i128) -> Result<BigRational, Reason> {
    let Rational { numerator, denominator } = scale.rational.as_ref().ok_or(Reason::Calculation)?;
    let x = BigRational::from_integer(BigInt::from(at));
    let polynomial = |coefficients: &[Box<str>]| {
        let mut sum = BigRational::zero();
        for text in coefficients.iter().rev() {
            sum = sum * &x + ratio(text).ok_or(Reason::Calculation)?;
        }
        Ok(sum)
    };
    let below = if denominator.is_empty() { BigRational::from_integer(1.into()) } else { polynomial(denominator)? };
    if below.is_zero() {
        return Err(Reason::Calculation);
    }
    Ok(polynomial(numerator)? / below)
}

/// The names of a text table. Names that are the same, empty or too long are altered so that each is its own.
fn names(computation: &Computation, least: i128, most: i128) -> Result<Calculation, Reason> {
    let mut entries: Vec<TextEntry> = Vec::new();
    let mut altered = false;
    for scale in &computation.scales {
        // A single limit stands for a single number.
        let (lower, upper) = match (&scale.lower, &scale.upper) {
            (Some(lower), None) => (Some(lower), Some(lower)),
            (None, Some(upper)) => (Some(upper), Some(upper)),
            (lower, upper) => (lower.as_ref(), upper.as_ref()),
        };
        let from = at_least(lower, least).ok_or(Reason::Calculation)?;
        let to = at_most(upper, most).ok_or(Reason::Calculation)?;
        let write = match &scale.inverse {
            Some(inverse) => at_least_text(inverse)?,
            None => from,
        };
        let (from, to) = (from.max(least), to.min(most));
        // What the bits cannot hold never comes.
        if from > to {
            continue;
        }
        let name = scale.text.as_deref().or(scale.number.as_deref()).unwrap_or_default();
        let name = own_name(name, from, &entries, &mut altered);
        // A number that is written for a name must mean it.
        let write = if (from..=to).contains(&write) { write } else { from };
        entries.push(TextEntry { name, from, to, write });
    }
    if entries.is_empty() {
        return Err(Reason::Calculation);
    }
    let default_fits =
        computation.default.as_ref().is_none_or(|default| add_default(default, &mut entries, least, most));
    let mut notes = Vec::new();
    notes.extend(altered.then_some("Names that were empty, long or the same were altered"));
    notes.extend((!default_fits).then_some("The name for all other numbers was not taken over"));
    Ok(Calculation::Names(TextTable { entries }, notes))
}

fn at_least_text(text: &str) -> Result<i128, Reason> {
    let number = ratio(text).filter(|ratio| ratio.is_integer()).ok_or(Reason::Calculation)?;
    i128::try_from(number.to_integer()).map_err(|_| Reason::Calculation)
}

fn own_name(name: &str, number: i128, there: &[TextEntry], altered: &mut bool) -> String {
    let mut clean: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    clean = clean.trim().to_owned();
    if clean.is_empty() {
        clean = format!("({number})");
    }
    if clean.chars().nth(LONGEST_NAME).is_some() {
        clean = clean.chars().take(LONGEST_NAME - 24).collect::<String>().trim_end().to_owned() + "…";
    }
    if there.iter().any(|entry| entry.name == clean) {
        let stem: String = clean.chars().take(LONGEST_NAME - 24).collect();
        clean = format!("{} ({number})", stem.trim_end());
    }
    *altered |= clean != name;
    clean
}

/// Names the numbers that no other name has, where they are one range; says whether they are.
fn add_default(default: &str, entries: &mut Vec<TextEntry>, least: i128, most: i128) -> bool {
    let mut sorted: Vec<(i128, i128)> = entries.iter().map(|entry| (entry.from, entry.to)).collect();
    sorted.sort_unstable();
    let (mut gaps, mut next) = (Vec::new(), least);
    for (from, to) in sorted {
        if from > next {
            gaps.push((next, from - 1));
        }
        next = next.max(to + 1);
    }
    if next <= most {
        gaps.push((next, most));
    }
    match gaps.as_slice() {
        [] => true,
        [(from, to)] if !entries.iter().any(|entry| entry.name == default.trim()) => {
            let mut altered = false;
            let name = own_name(default, *from, entries, &mut altered);
            entries.push(TextEntry { name, from: *from, to: *to, write: *from });
            !altered
        }
        _ => false,
    }
}
