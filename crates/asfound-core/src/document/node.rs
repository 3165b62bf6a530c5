//! The tree that a file is read into.

use super::TextPosition;

/// A value of a file, with the place where it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// What stands there.
    pub value: NodeValue,
    /// Where it begins; for a table under a header, the header.
    pub place: TextPosition,
}

/// A key of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// The key, without quotes.
    pub name: String,
    /// Where it stands first.
    pub place: TextPosition,
}

/// What stands at a place of a file. Numbers are kept exactly; nothing is rounded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NodeValue {
    /// Keys and their values, in the order of the file; no key twice.
    Table(Vec<(Key, Node)>),
    /// Values in order.
    List(Vec<Node>),
    /// A text.
    Text(String),
    /// A whole number.
    Integer(i128),
    /// A number with a point or an exponent, as it is written (TOML's `_` between digits left out).
    Decimal(String),
    /// True or false.
    Bool(bool),
    /// A date, a time or both, as it is written. JSON has none: there it is a text.
    Time(String),
}

impl Node {
    /// The kind of value, for messages: `a text`, `a list` …
    pub fn kind(&self) -> &'static str {
        match &self.value {
            NodeValue::Table(_) => "a table",
            NodeValue::List(_) => "a list",
            NodeValue::Text(_) => "a text",
            NodeValue::Integer(_) => "a whole number",
            NodeValue::Decimal(_) => "a decimal number",
            NodeValue::Bool(_) => "true or false",
            NodeValue::Time(_) => "a date or time",
        }
    }

    /// The keys and values of a table; nothing for other kinds.
    pub fn entries(&self) -> Option<&[(Key, Node)]> {
        match &self.value {
            NodeValue::Table(entries) => Some(entries),
            _ => None,
        }
    }

    /// The values of a list; nothing for other kinds.
    pub fn items(&self) -> Option<&[Node]> {
        match &self.value {
            NodeValue::List(items) => Some(items),
            _ => None,
        }
    }

    /// The value of a key, where this is a table that has it.
    pub fn get(&self, name: &str) -> Option<&Node> {
        self.entries()?.iter().find(|(key, _)| key.name == name).map(|(_, node)| node)
    }
}
