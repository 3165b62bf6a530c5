//! Numbers that are written as hexadecimal text.

use crate::document::{Collector, FromNode, Node, shown_text};

/// One to four hexadecimal digits, without `0x`.
pub(super) struct Hexadecimal(pub(super) u16);

impl<'n> FromNode<'n> for Hexadecimal {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        let text = <&str>::from_node(node, at, collector)?;
        if (1..=4).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return u16::from_str_radix(text, 16).ok().map(Self);
        }
        let message = format!("`{}` is not one to four hexadecimal digits, as in 1D", shown_text(text));
        if text.starts_with("0x") || text.starts_with("0X") {
            collector.error_with_hint(node.place, at, message, "leave out the 0x");
        } else {
            collector.error(node.place, at, message);
        }
        None
    }
}
