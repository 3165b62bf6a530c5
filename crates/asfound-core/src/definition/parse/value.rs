//! Reads values of settings: permitted ones, factory values, what rules compare with.

use crate::document::{Collector, Node, NodeValue, shown_text};
use crate::layout::{Layout, ValueKind};
use crate::value::Value;

/// The longest text of a value, in bytes: the longest record as hexadecimal with spaces.
const LONGEST: usize = 3 * 4095;

/// The value as a user would type it; nothing, and a problem, where it is none.
pub(super) fn text(node: &Node, at: &str, collector: &Collector) -> Option<String> {
    match &node.value {
        NodeValue::Text(text) if text.len() > LONGEST => {
            collector.error(node.place, at, "the text is longer than any value");
            None
        }
        NodeValue::Text(text) | NodeValue::Decimal(text) => Some(text.clone()),
        NodeValue::Integer(number) => Some(number.to_string()),
        NodeValue::Bool(_) => {
            let hint = "for a switch write \"on\" or \"off\" in quotes";
            collector.error_with_hint(node.place, at, "expected a value, found true or false", hint);
            None
        }
        NodeValue::Table(_) | NodeValue::List(_) | NodeValue::Time(_) => {
            collector.error(node.place, at, format!("expected a value, found {}", node.kind()));
            None
        }
    }
}

/// A value of the setting's type, whether or not it can be stored.
pub(super) fn typed(node: &Node, at: &str, layout: &Layout, collector: &Collector) -> Option<Value> {
    let text = text(node, at, collector)?;
    let in_quotes = matches!(node.value, NodeValue::Text(_));
    if !in_quotes && matches!(layout.kind(), ValueKind::Text | ValueKind::Bytes) {
        // A number would lose leading zeros.
        let message = format!("expected a text, found {}", node.kind());
        collector.error_with_hint(node.place, at, message, "put it in quotes");
        return None;
    }
    let short = text.len() <= 256;
    if !short && *layout.kind() == ValueKind::Choice {
        collector.error(node.place, at, format!("`{}` is not among the choices", shown_text(&text)));
        return None;
    }
    layout.parse_value(&text).map_err(|error| collector.error(node.place, at, error.to_string())).ok()
}

/// A value that the setting's bits can hold.
pub(super) fn storable(node: &Node, at: &str, layout: &Layout, collector: &Collector) -> Option<Value> {
    let value = typed(node, at, layout, collector)?;
    match layout.coded_for(&value) {
        Ok(_) => Some(value),
        Err(error) => {
            collector.error(node.place, at, error.to_string());
            None
        }
    }
}
