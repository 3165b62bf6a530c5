//! Characters that no text of a definition may hold.

use crate::document::{Collector, Node, NodeValue, by_number, item, join, shown_text};

/// Reports every text and key that holds a control character: it would drive the terminal that it is shown on. Line ends and
/// tabs are none here, as in readings.
pub(super) fn check(node: &Node, at: &str, collector: &Collector) {
    match &node.value {
        NodeValue::Text(text) => {
            if let Some(found) = unfit(text) {
                collector.error(node.place, at, format!("the text holds the control character {}", by_number(found)));
            }
        }
        NodeValue::Table(entries) => {
            for (key, value) in entries {
                if let Some(found) = unfit(&key.name) {
                    let message =
                        format!("the key `{}` holds the control character {}", shown_text(&key.name), by_number(found));
                    collector.error(key.place, at, message);
                }
                check(value, &join(at, &key.name), collector);
            }
        }
        NodeValue::List(items) => {
            for (number, value) in items.iter().enumerate() {
                check(value, &item(at, number), collector);
            }
        }
        _ => {}
    }
}

fn unfit(text: &str) -> Option<char> {
    text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
}
