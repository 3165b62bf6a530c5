//! Which values a setting may have.

use std::fmt;

use thiserror::Error;

use crate::layout::EncodeError;
use crate::value::Value;

/// Which values a setting may have, of those that its bits can hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Permitted {
    /// All of them.
    Any,
    /// Numbers from `min` to `max`, both included.
    Range {
        /// The least.
        min: Value,
        /// The largest.
        max: Value,
    },
    /// Only these, in the order of the definition.
    List(Vec<Value>),
}

impl Permitted {
    /// Whether a value is one of those that are permitted; whether it can be stored is another question.
    pub fn permits(&self, value: &Value) -> bool {
        match self {
            Self::Any => true,
            Self::List(values) => values.contains(value),
            Self::Range { min, max } => match (min.number(), value.number(), max.number()) {
                (Some(min), Some(number), Some(max)) => min <= number && number <= max,
                _ => false,
            },
        }
    }
}

impl fmt::Display for Permitted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Any => f.pad("anything that can be stored"),
            Self::Range { min, max } => f.pad(&format!("{min} to {max}")),
            Self::List(values) => f.pad(&values.iter().map(Value::to_string).collect::<Vec<_>>().join(", ")),
        }
    }
}

/// Why a setting may not have a value.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotPermitted {
    /// The bits cannot hold it.
    #[error(transparent)]
    Storage(#[from] EncodeError),
    /// It could be stored, but the definition does not permit it.
    #[error("`{value}` is not permitted, only {permitted}")]
    Refused {
        /// The value.
        value: Value,
        /// What is permitted.
        permitted: Box<Permitted>,
    },
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_compare_numbers_and_lists_values() {
        let range = Permitted::Range { min: Value::Integer(1), max: Value::Integer(5) };
        for (number, permitted) in [(0, false), (1, true), (5, true), (6, false)] {
            assert_eq!(range.permits(&Value::Integer(number)), permitted, "{number}");
        }
        assert!(!range.permits(&Value::Text("3".into())));
        let list = Permitted::List(vec![Value::Choice("low".into()), Value::Choice("high".into())]);
        assert!(list.permits(&Value::Choice("high".into())) && !list.permits(&Value::Choice("off".into())));
        assert_eq!((range.to_string(), list.to_string()), ("1 to 5".into(), "low, high".into()));
    }
}
