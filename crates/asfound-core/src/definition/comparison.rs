//! What a rule asks of one setting's value.

use std::fmt;

use super::{Operand, Truth};
use crate::value::{Decimal, Value};

/// What a rule asks of one setting's value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Comparison {
    /// It is this.
    Is(Operand),
    /// It is anything else.
    IsNot(Operand),
    /// It is one of these.
    OneOf(Vec<Operand>),
    /// It is this number or a larger one.
    AtLeast(Decimal),
    /// It is this number or a smaller one.
    AtMost(Decimal),
    /// It is a larger number.
    Above(Decimal),
    /// It is a smaller number.
    Below(Decimal),
}

impl Comparison {
    /// Whether a value is what is asked for; a value that is not known cannot be told, nor can a value that is no number
    /// be compared with one.
    pub fn holds(&self, value: Option<&Value>) -> Truth {
        let Some(value) = value else {
            return Truth::CannotTell;
        };
        let number = |accepts: fn(&Decimal, &Decimal) -> bool, bound: &Decimal| {
            number_in(value).map_or(Truth::CannotTell, |number| Truth::from(accepts(&number, bound)))
        };
        match self {
            Self::Is(operand) => operand.equals(value),
            Self::IsNot(operand) => operand.equals(value).not(),
            Self::OneOf(operands) => Truth::any(operands.iter().map(|operand| operand.equals(value))),
            Self::AtLeast(bound) => number(|number, bound| number >= bound, bound),
            Self::AtMost(bound) => number(|number, bound| number <= bound, bound),
            Self::Above(bound) => number(|number, bound| number > bound, bound),
            Self::Below(bound) => number(|number, bound| number < bound, bound),
        }
    }
}

/// The number in a value; also in a text that is one, as values without a definition are.
fn number_in(value: &Value) -> Option<Decimal> {
    match value {
        Value::Text(text) => text.parse().ok(),
        _ => value.number(),
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Self::Is(operand) => format!("is {operand}"),
            Self::IsNot(operand) => format!("is not {operand}"),
            Self::OneOf(operands) => {
                format!("is one of {}", operands.iter().map(Operand::to_string).collect::<Vec<_>>().join(", "))
            }
            Self::AtLeast(bound) => format!("is at least {bound}"),
            Self::AtMost(bound) => format!("is at most {bound}"),
            Self::Above(bound) => format!("is above {bound}"),
            Self::Below(bound) => format!("is below {bound}"),
        };
        f.pad(&text)
    }
}

#[cfg(test)]
mod tests {
    use super::Truth::{CannotTell, Fails, Holds};
    use super::*;

    fn untyped(text: &str) -> Operand {
        Operand { text: text.to_owned(), value: None }
    }

    fn typed(value: Value) -> Operand {
        Operand { text: value.to_string(), value: Some(value) }
    }

    fn speed(number: &str) -> Value {
        Value::Quantity { number: number.parse().unwrap(), unit: "km/h".into() }
    }

    #[test]
    fn other_modules_values_are_compared_by_what_they_say() {
        for (text, value, verdict) in [
            ("on", Value::Switch(true), Holds),
            ("on", Value::Switch(false), Fails),
            ("3", Value::Integer(3), Holds),
            ("3.0", Value::Integer(3), Holds),
            ("3", Value::Choice("three".into()), Fails),
            ("15", speed("15"), Holds),
            ("15 km/h", speed("15.0"), Holds),
            ("15 mph", speed("15"), CannotTell),
            ("14 km/h", speed("15"), Fails),
            ("030F", Value::Bytes(vec![3, 15].into()), Holds),
            ("03 0E", Value::Bytes(vec![3, 15].into()), Fails),
        ] {
            assert_eq!(Comparison::Is(untyped(text)).holds(Some(&value)), verdict, "{text} {value}");
            assert_eq!(Comparison::IsNot(untyped(text)).holds(Some(&value)), verdict.not());
        }
    }

    #[test]
    fn own_values_are_compared_as_values() {
        let low = typed(Value::Choice("low".into()));
        assert_eq!(low.equals(&Value::Choice("low".into())), Holds);
        assert_eq!(low.equals(&Value::Choice("high".into())), Fails);
        assert_eq!(low.equals(&Value::Text("low".into())), Holds);
        assert_eq!(low.equals(&Value::Text("0x01".into())), CannotTell);
        let one_of = Comparison::OneOf(vec![typed(Value::Integer(1)), typed(Value::Integer(3))]);
        assert_eq!(one_of.holds(Some(&Value::Integer(3))), Holds);
        assert_eq!(one_of.holds(Some(&Value::Integer(2))), Fails);
        assert_eq!(one_of.to_string(), "is one of 1, 3");
    }

    #[test]
    fn bounds_hold_as_they_say_and_nothing_is_guessed() {
        let two = Decimal::from(2);
        for (test, below, at, above) in [
            (Comparison::AtLeast(two.clone()), Fails, Holds, Holds),
            (Comparison::AtMost(two.clone()), Holds, Holds, Fails),
            (Comparison::Above(two.clone()), Fails, Fails, Holds),
            (Comparison::Below(two.clone()), Holds, Fails, Fails),
        ] {
            let found = ["1.9", "2", "2.1"].map(|number| test.holds(Some(&speed(number))));
            assert_eq!(found, [below, at, above], "{test}");
            assert_eq!(test.holds(None), CannotTell);
            assert_eq!(test.holds(Some(&Value::Choice("two".into()))), CannotTell);
            assert_eq!(test.holds(Some(&Value::Text("2".into()))), at);
        }
    }
}
