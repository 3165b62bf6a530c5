//! A value that a rule compares with.

use std::fmt;

use super::Verdict;
use crate::value::{Decimal, Value};

/// A value that a rule compares with, as the definition writes it.
///
/// For a setting of the definition's own module it is typed; for another module's, whose definition may be any one of
/// several, it is kept as text and compared by what it says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Operand {
    pub(super) text: String,
    pub(super) value: Option<Value>,
}

impl Operand {
    /// The value as it is written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The value, typed, for a setting of the definition's own module.
    pub fn value(&self) -> Option<&Value> {
        self.value.as_ref()
    }

    /// Whether a setting's value is this one.
    pub fn equals(&self, value: &Value) -> Verdict {
        if self.value.as_ref() == Some(value) || value.to_string() == self.text {
            return Verdict::Holds;
        }
        match (&self.value, value) {
            // A value that no definition has typed says nothing certain unless it reads the same.
            (Some(typed), Value::Text(_)) if !matches!(typed, Value::Text(_)) => Verdict::CannotTell,
            (Some(_), _) => Verdict::Fails,
            (None, Value::Bytes(bytes)) => {
                self.text.parse().map_or(Verdict::Fails, |own: crate::value::HexBytes| Verdict::from(own == *bytes))
            }
            (None, _) => Verdict::from(
                value.number().is_some_and(|number| self.text.parse::<Decimal>().is_ok_and(|own| own == number)),
            ),
        }
    }
}

impl fmt::Display for Operand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.value {
            Some(value) => value.fmt(f),
            None => f.pad(&self.text),
        }
    }
}
