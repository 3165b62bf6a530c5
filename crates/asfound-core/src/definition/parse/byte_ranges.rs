//! Bytes of a record, written as `2` or `5-7`.

use std::ops::RangeInclusive;

use crate::document::{Collector, FromNode, Node, NodeValue, Spanned, shown_text};

/// A range of bytes, both ends included; possibly turned round.
pub(super) struct ByteRange(pub(super) RangeInclusive<usize>);

impl<'n> FromNode<'n> for ByteRange {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        if let NodeValue::Integer(number) = node.value
            && let Ok(byte) = u16::try_from(number)
        {
            return Some(Self(usize::from(byte)..=usize::from(byte)));
        }
        let text = <&str>::from_node(node, at, collector)?;
        let (from, to) = text.split_once('-').unwrap_or((text, text));
        if let (Some(from), Some(to)) = (byte(from), byte(to)) {
            return Some(Self(from..=to));
        }
        let message = format!("invalid range of bytes `{}` (expected 5 or 5-7)", shown_text(text));
        collector.error(node.place, at, message);
        None
    }
}

fn byte(text: &str) -> Option<usize> {
    let text = text.trim();
    if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    text.parse::<u16>().ok().map(usize::from)
}

/// One range or a list of them.
pub(super) struct ByteRanges(pub(super) Vec<Spanned<ByteRange>>);

impl<'n> FromNode<'n> for ByteRanges {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        if node.items().is_some() {
            return Vec::from_node(node, at, collector).map(Self);
        }
        Spanned::from_node(node, at, collector).map(|range| Self(vec![range]))
    }
}
