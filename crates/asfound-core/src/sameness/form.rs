//! What a text says, as far as that is certain without a definition.

use super::bytes::Bytes;
use super::letters::{clean, fold};
use super::number::{Number, Relation};
use super::words::SeriesValue;

/// What a text says. Texts of one form are the same value.
#[derive(Debug, Clone)]
pub(super) enum Form {
    /// Nothing.
    Nothing,
    /// A number, with its unit where it has one.
    Number(Number, Option<String>),
    /// Bytes.
    Bytes(Bytes),
    /// A word of a known series.
    Word(SeriesValue),
    /// Anything else.
    Other,
}

/// A text with what it says.
#[derive(Debug, Clone)]
pub(super) struct AnalysedText {
    /// The text, each character written in one way and single spaces between its words.
    pub(super) clean: String,
    /// The same without case.
    pub(super) folded: String,
    pub(super) form: Form,
}

impl AnalysedText {
    pub(super) fn of(text: &str) -> Self {
        let clean = clean(text);
        let folded = fold(&clean);
        let form = if clean.is_empty() {
            Form::Nothing
        } else if let Some(bytes) = Bytes::of(&clean) {
            Form::Bytes(bytes)
        } else if let Some((number, unit)) = number(&clean) {
            Form::Number(number, unit)
        } else {
            SeriesValue::of(&folded).map_or(Form::Other, Form::Word)
        };
        Self { clean, folded, form }
    }

    /// Whether both certainly say the same: an equivalence.
    pub(super) fn says_the_same(&self, other: &Self) -> bool {
        match (&self.form, &other.form) {
            (Form::Nothing, Form::Nothing) => true,
            (Form::Number(a, unit), Form::Number(b, other_unit)) => {
                unit == other_unit && a.relation(b, unit.is_none()) == Relation::Equal
            }
            (Form::Bytes(a), Form::Bytes(b)) => a.bytes == b.bytes,
            (Form::Word(a), Form::Word(b)) => a == b,
            (Form::Other, Form::Other) => self.folded == other.folded,
            _ => false,
        }
    }
}

/// A number alone or with a unit.
fn number(clean: &str) -> Option<(Number, Option<String>)> {
    let (number, rest) = Number::at_start(clean)?;
    if rest.is_empty() {
        return Some((number, None));
    }
    let unit = rest.strip_prefix(' ').unwrap_or(rest);
    let begins = |c: char| c.is_alphabetic() || matches!(c, '%' | '‰' | '°' | '℃' | '℉' | '"' | '\'' | '(');
    // A digit in it makes another number of it: `1e3`, `3 of 5`, `14.03 2026`.
    let is_unit = unit.starts_with(begins) && !unit.contains(|c: char| c.is_ascii_digit());
    is_unit.then(|| (number, Some(unit_of(unit))))
}

/// Units that mean the same in small and in capital letters. In others case tells things apart: `mW` and `MW`.
const UNITS_IN_ANY_CASE: [&str; 22] = [
    "km/h", "kmh", "km", "mph", "rpm", "/min", "bar", "mbar", "psi", "min", "sec", "hz", "khz", "kw", "kwh", "kpa",
    "db", "v", "kg", "°c", "°f", "x",
];

/// One way of writing a unit.
pub(super) fn unit_of(unit: &str) -> String {
    let unit = unit.replace('℃', "°C").replace('℉', "°F");
    let unit = [" /", "/ ", " ·", "· "].iter().fold(unit, |unit, spaced| unit.replace(spaced, spaced.trim()));
    let folded = fold(&unit);
    let spelt_out = folded.split(|c: char| !c.is_alphabetic()).any(|word| word.chars().count() >= 4);
    if spelt_out || UNITS_IN_ANY_CASE.contains(&folded.as_str()) { folded } else { unit }
}
