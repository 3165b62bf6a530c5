//! Values out of nodes, with a problem where the kind is wrong.

use super::path::item;
use super::{Collector, Node, NodeValue, TextPosition, shown_text};
use crate::value::{Decimal, DecimalError};

/// A value that can be taken out of a [`Node`].
pub trait FromNode<'n>: Sized {
    /// The value; nothing, and a problem in the collector, where the node holds something else. `at` is the node's path.
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self>;
}

/// A value together with the place where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: TextPosition,
}

/// A date and time as it is written: TOML's own, or a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeText<'n>(pub &'n str);

/// Reports that a node is not what was expected.
pub(super) fn wrong_kind(node: &Node, at: &str, expected: &str, collector: &Collector) {
    let message = format!("expected {expected}, found {}", node.kind());
    match (expected, &node.value) {
        ("a text", NodeValue::Integer(_) | NodeValue::Decimal(_) | NodeValue::Bool(_) | NodeValue::Time(_)) => {
            collector.error_with_hint(node.place, at, message, "put it in quotes");
        }
        ("a list", NodeValue::Text(_) | NodeValue::Integer(_) | NodeValue::Decimal(_) | NodeValue::Table(_)) => {
            collector.error_with_hint(node.place, at, message, "put it in brackets: [ … ]");
        }
        ("a whole number" | "a number", NodeValue::Text(_)) => {
            collector.error_with_hint(node.place, at, message, "write the number without quotes");
        }
        _ => collector.error(node.place, at, message),
    }
}

impl<'n> FromNode<'n> for &'n Node {
    fn from_node(node: &'n Node, _: &str, _: &Collector) -> Option<Self> {
        Some(node)
    }
}

impl<'n> FromNode<'n> for &'n str {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        if let NodeValue::Text(text) = &node.value {
            return Some(text);
        }
        wrong_kind(node, at, "a text", collector);
        None
    }
}

impl<'n> FromNode<'n> for String {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        <&str>::from_node(node, at, collector).map(str::to_owned)
    }
}

impl<'n> FromNode<'n> for TimeText<'n> {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        if let NodeValue::Time(text) | NodeValue::Text(text) = &node.value {
            return Some(Self(text));
        }
        wrong_kind(node, at, "a date and time", collector);
        None
    }
}

impl<'n> FromNode<'n> for bool {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        if let NodeValue::Bool(bool) = node.value {
            return Some(bool);
        }
        wrong_kind(node, at, "true or false", collector);
        None
    }
}

impl<'n> FromNode<'n> for i128 {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        if let NodeValue::Integer(number) = node.value {
            return Some(number);
        }
        wrong_kind(node, at, "a whole number", collector);
        None
    }
}

macro_rules! small_integer {
    ($($kind:ty),*) => {$(
        impl<'n> FromNode<'n> for $kind {
            fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
                let number = i128::from_node(node, at, collector)?;
                let small = <$kind>::try_from(number).ok();
                if small.is_none() {
                    let message = format!("{number} is not in the range {} to {}", <$kind>::MIN, <$kind>::MAX);
                    collector.error(node.place, at, message);
                }
                small
            }
        }
    )*};
}
small_integer!(u8, u16, u32, u64);

impl<'n> FromNode<'n> for Decimal {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        match &node.value {
            NodeValue::Integer(number) => Some(Self::from(*number)),
            NodeValue::Decimal(text) => {
                text.parse().map_err(|error: DecimalError| collector.error(node.place, at, error.to_string())).ok()
            }
            _ => {
                wrong_kind(node, at, "a number", collector);
                None
            }
        }
    }
}

impl<'n, T: FromNode<'n>> FromNode<'n> for Spanned<T> {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        Some(Self { value: T::from_node(node, at, collector)?, place: node.place })
    }
}

/// Items that are not of the kind are reported and left out.
impl<'n, T: FromNode<'n>> FromNode<'n> for Vec<T> {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        let NodeValue::List(items) = &node.value else {
            wrong_kind(node, at, "a list", collector);
            return None;
        };
        let items = items.iter().enumerate();
        Some(items.filter_map(|(index, node)| T::from_node(node, &item(at, index), collector)).collect())
    }
}

/// Reads a text by its own grammar; nothing, and a problem, where it does not follow it.
pub(super) fn parse<T>(text: &str, place: TextPosition, at: &str, collector: &Collector) -> Option<T>
where
    T: std::str::FromStr,
    T::Err: std::fmt::Display,
{
    text.parse().map_err(|error: T::Err| collector.error(place, at, error.to_string())).ok()
}

/// The same with the names that there are, so that the nearest can be named.
pub(super) fn choose<T: Copy>(
    text: &str,
    choices: &[(&str, T)],
    what: &str,
    (place, at): (TextPosition, &str),
    collector: &Collector,
) -> Option<T> {
    if let Some((_, value)) = choices.iter().find(|(name, _)| *name == text) {
        return Some(*value);
    }
    let message = format!("invalid {what} `{}`", shown_text(text));
    let hint = super::nearest_name(text, choices.iter().map(|(name, _)| *name)).map_or_else(
        || format!("there are {}", choices.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ")),
        |near| format!("did you mean `{near}`?"),
    );
    collector.error_with_hint(place, at, message, hint);
    None
}
