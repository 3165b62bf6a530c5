//! Values that a definition types.

use super::form::{AnalysedText, Form};
use super::number::Number;
use super::text::{compare_texts, related};
use super::{Incomparable, Respelling, Sameness};
use crate::value::{HexBytes, Value};

/// How two typed values of one setting stand to each other.
///
/// `one_definition`: one definition types both, so that two names of its choices are two choices. Two definitions may have two
/// names for one.
pub fn compare_values(a: &Value, b: &Value, one_definition: bool) -> Sameness {
    if a == b {
        return Sameness::Same;
    }
    match (a, b) {
        (Value::Switch(_), Value::Switch(_))
        | (Value::Integer(_), Value::Integer(_))
        | (Value::Bytes(_), Value::Bytes(_)) => Sameness::Different,
        (Value::Quantity { number: a, unit }, Value::Quantity { number: b, unit: other }) if unit == other => {
            related(Number::shown(a).relation(&Number::shown(b), false))
        }
        (Value::Choice(a), Value::Choice(b)) if one_definition && a != b => Sameness::Different,
        (Value::Text(a), Value::Text(b)) if one_definition => match compare_texts(a, b) {
            Sameness::CannotTell(_) => Sameness::Different,
            told => told,
        },
        _ => match compare_texts(&a.to_string(), &b.to_string()) {
            // What is of two types may be the same value seen in two ways.
            Sameness::Different if std::mem::discriminant(a) != std::mem::discriminant(b) => {
                Sameness::CannotTell(Incomparable::Definitions)
            }
            told => told,
        },
    }
}

/// How a typed value and a text that could not be typed stand to each other.
pub fn compare_value_with_text(value: &Value, text: &str) -> Sameness {
    if value.to_string() == text {
        return Sameness::Same;
    }
    match value {
        Value::Quantity { number, .. } => match AnalysedText::of(text).form {
            // A number without a unit is in the unit of its setting, as it is where a value is typed in.
            Form::Number(other, None) => related(Number::shown(number).relation(&other, false)),
            _ => compare_texts(&value.to_string(), text),
        },
        Value::Bytes(bytes) => {
            let written: Option<HexBytes> = match AnalysedText::of(text).form {
                Form::Bytes(written) => Some(HexBytes::from(written.bytes)),
                _ => text.parse().ok().filter(|written: &HexBytes| !written.is_empty()),
            };
            match written {
                Some(written) if written == *bytes => Sameness::SaidDifferently(Respelling::Bytes),
                Some(_) => compare_texts(&value.to_string(), text),
                None => Sameness::CannotTell(Incomparable::Kind),
            }
        }
        _ => compare_texts(&value.to_string(), text),
    }
}
