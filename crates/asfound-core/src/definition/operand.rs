//! A value that a rule compares with.

use std::fmt;

use super::Truth;
use crate::sameness::{Sameness, compare_value_with_text, compare_values};
use crate::value::Value;

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

    /// Whether a setting's value is this one, however it is written.
    pub fn equals(&self, value: &Value) -> Truth {
        let sameness = match &self.value {
            Some(own) => compare_values(own, value, true),
            None => compare_value_with_text(value, &self.text),
        };
        match sameness {
            Sameness::Same | Sameness::SaidDifferently(_) => Truth::Holds,
            Sameness::Different => Truth::Fails,
            // What a definition types has one name, which the rule would have used.
            Sameness::CannotTell(_) if !matches!(value, Value::Text(_) | Value::Quantity { .. }) => Truth::Fails,
            Sameness::CannotTell(_) => Truth::CannotTell,
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
