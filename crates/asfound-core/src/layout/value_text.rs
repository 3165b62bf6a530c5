//! Values as a user types them.

use thiserror::Error;

use super::ValueKind;
use crate::sameness::{compare_texts, same_unit, written_bytes, written_number};
use crate::value::{Decimal, DecimalError, HexError, Value};

/// Why a typed text is no value of a setting.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ValueTextError {
    /// Neither `on` nor `off`; other words for them are not guessed at.
    #[error("`{0}` is not taken for a switch: write `on` or `off`")]
    Switch(String),
    /// Not among the choices.
    #[error(
        "`{found}` is not among the choices {}{}",
        .choices.join(", "), .near.as_ref().map(|near| format!("; did you mean `{near}`?")).unwrap_or_default()
    )]
    Choice {
        /// The text given.
        found: String,
        /// The choice that is spelt most like it, if one is near.
        near: Option<String>,
        /// The names there are.
        choices: Vec<String>,
    },
    /// Not a whole number.
    #[error("`{0}` is not a whole number")]
    Integer(String),
    /// Not a decimal.
    #[error(transparent)]
    Number(#[from] DecimalError),
    /// Another unit than the setting's.
    #[error("`{found}` is not the unit of this setting: write the number alone or with {unit}")]
    Unit {
        /// The unit given.
        found: String,
        /// The unit that the setting has.
        unit: String,
    },
    /// Not hexadecimal.
    #[error(transparent)]
    Bytes(#[from] HexError),
}

/// The value that a text names, in any writing that can mean nothing else; `choices` are the names of a choice.
pub(super) fn parse(kind: &ValueKind, choices: &[&str], text: &str) -> Result<Value, ValueTextError> {
    let trimmed = text.trim();
    match kind {
        ValueKind::Switch => match trimmed {
            "on" => Ok(Value::Switch(true)),
            "off" => Ok(Value::Switch(false)),
            _ if compare_texts(trimmed, "on").is_same() => Ok(Value::Switch(true)),
            _ if compare_texts(trimmed, "off").is_same() => Ok(Value::Switch(false)),
            _ => Err(ValueTextError::Switch(trimmed.to_owned())),
        },
        ValueKind::Choice => {
            if choices.contains(&trimmed) {
                return Ok(Value::Choice(trimmed.to_owned()));
            }
            let mut alike = choices.iter().filter(|name| compare_texts(name, trimmed).is_same());
            if let (Some(name), None) = (alike.next(), alike.next()) {
                return Ok(Value::Choice((*name).to_owned()));
            }
            Err(ValueTextError::Choice {
                found: trimmed.to_owned(),
                near: nearest(choices, trimmed),
                choices: choices.iter().map(|name| (*name).to_owned()).collect(),
            })
        }
        ValueKind::Integer => {
            let written = || written_number(trimmed).filter(|(_, unit)| unit.is_none())?.0.to_integer();
            let number = trimmed.parse().ok().or_else(written);
            number.map(Value::Integer).ok_or_else(|| ValueTextError::Integer(trimmed.to_owned()))
        }
        ValueKind::Quantity { unit, .. } => {
            let behind = trimmed.find(|c: char| !c.is_ascii_digit() && !".,+-".contains(c)).unwrap_or(trimmed.len());
            let (number, found) = (trimmed[..behind].trim_end(), trimmed[behind..].trim_start());
            if let Some((number, written)) = written_number(trimmed)
                && written.is_none_or(|written| same_unit(&written, unit))
            {
                return Ok(Value::Quantity { number, unit: unit.clone() });
            }
            let number: Decimal = number.parse()?;
            if !found.is_empty() && found != unit {
                return Err(ValueTextError::Unit { found: found.to_owned(), unit: unit.clone() });
            }
            Ok(Value::Quantity { number, unit: unit.clone() })
        }
        // Spaces may be part of a text, so nothing is trimmed.
        ValueKind::Text => Ok(Value::Text(text.to_owned())),
        ValueKind::Bytes => {
            let bytes = trimmed.parse().or_else(|error| written_bytes(trimmed).ok_or(error))?;
            Ok(Value::Bytes(bytes))
        }
    }
}

/// The name that is spelt most like the text, if only a letter in three is wrong.
fn nearest(choices: &[&str], text: &str) -> Option<String> {
    let lower = text.to_lowercase();
    let distance = |name: &str| strsim::damerau_levenshtein(&name.to_lowercase(), &lower);
    let near = choices.iter().min_by_key(|name| distance(name))?;
    let allowed = (near.chars().count().max(lower.chars().count()) / 3).max(1);
    (distance(near) <= allowed).then(|| (*near).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantity() -> ValueKind {
        ValueKind::Quantity { unit: "km/h".to_owned(), decimals: None }
    }

    #[test]
    fn reads_what_people_type() {
        let speed = |text: &str| Value::Quantity { number: text.parse().unwrap(), unit: "km/h".to_owned() };
        for (kind, text, value) in [
            (ValueKind::Switch, " on ", Value::Switch(true)),
            (ValueKind::Switch, "off", Value::Switch(false)),
            (ValueKind::Choice, "medium", Value::Choice("medium".to_owned())),
            (ValueKind::Integer, "-3", Value::Integer(-3)),
            (quantity(), "15", speed("15")),
            (quantity(), "15 km/h", speed("15")),
            (quantity(), "-12.50km/h", speed("-12.5")),
            (ValueKind::Text, " A ", Value::Text(" A ".to_owned())),
            (ValueKind::Bytes, "030f 85", Value::Bytes(vec![3, 15, 0x85].into())),
            // Another writing that can mean nothing else.
            (ValueKind::Switch, "ON", Value::Switch(true)),
            (ValueKind::Switch, "Aus", Value::Switch(false)),
            (ValueKind::Choice, "Medium", Value::Choice("medium".to_owned())),
            (ValueKind::Integer, "5,0", Value::Integer(5)),
            (quantity(), "12,5 KM/H", speed("12.5")),
            (quantity(), "12.500", speed("12.5")),
            (ValueKind::Bytes, "0x03 0x0F", Value::Bytes(vec![3, 15].into())),
        ] {
            assert_eq!(parse(&kind, &["low", "medium"], text), Ok(value), "{text:?}");
        }
    }

    #[test]
    fn guesses_nothing_for_a_switch() {
        for text in ["true", "false", "1", "0", "yes", "no", "active", ""] {
            let error = parse(&ValueKind::Switch, &["off", "on"], text).unwrap_err();
            assert_eq!(error.to_string(), format!("`{text}` is not taken for a switch: write `on` or `off`"));
        }
    }

    #[test]
    fn names_the_choice_that_was_probably_meant() {
        let near = |text: &str| match parse(&ValueKind::Choice, &["low", "medium", "high"], text) {
            Err(ValueTextError::Choice { near, .. }) => near,
            other => panic!("{other:?}"),
        };
        assert_eq!(near("meduim").as_deref(), Some("medium"));
        assert_eq!(near("Mediun").as_deref(), Some("medium"));
        assert_eq!(near("lo").as_deref(), Some("low"));
        assert_eq!(near("loudest"), None);
        let error = parse(&ValueKind::Choice, &["low", "high"], "hihg").unwrap_err();
        assert_eq!(error.to_string(), "`hihg` is not among the choices low, high; did you mean `high`?");
    }

    #[test]
    fn refuses_other_units_and_numbers() {
        let error = |kind: &ValueKind, text: &str| parse(kind, &[], text).unwrap_err().to_string();
        assert_eq!(
            error(&quantity(), "15 mph"),
            "`mph` is not the unit of this setting: write the number alone or with km/h"
        );
        assert_eq!(error(&quantity(), "12,500"), "invalid decimal `12,500` (expected digits with a point, as in 12.5)");
        assert_eq!(error(&quantity(), "km/h"), "invalid decimal `` (expected digits with a point, as in 12.5)");
        assert_eq!(error(&ValueKind::Integer, "1.5"), "`1.5` is not a whole number");
        assert_eq!(error(&ValueKind::Integer, "15 km/h"), "`15 km/h` is not a whole number");
        assert!(matches!(parse(&ValueKind::Bytes, &[], "0x3G"), Err(ValueTextError::Bytes(_))));
    }
}
