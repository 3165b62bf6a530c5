//! Text that says something to people.

use crate::document::{Collector, FromNode, Node};

/// A text that is not blank.
pub(super) struct NonBlankText(pub(super) String);

impl<'n> FromNode<'n> for NonBlankText {
    fn from_node(node: &'n Node, at: &str, collector: &Collector) -> Option<Self> {
        let text = <&str>::from_node(node, at, collector)?;
        if text.trim().is_empty() {
            collector.error(node.place, at, "the text is empty");
            return None;
        }
        Some(Self(text.to_owned()))
    }
}
