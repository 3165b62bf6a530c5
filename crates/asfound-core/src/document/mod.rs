//! Files as trees with places: read from TOML or JSON, taken apart with every problem named by line and column.
//!
//! The way through: [`decode_utf8`] turns a file's bytes into text, [`parse_toml`] or [`parse_json`] turns the text
//! into a [`Node`], and a [`TableReader`] takes keys out of its tables. Whatever is wrong goes to a [`Collector`], so
//! that one pass finds everything.

mod collector;
mod from_node;
mod json_source;
mod near;
mod node;
mod path;
mod place;
mod problem;
mod shown_text;
mod table_reader;
mod text_bytes;
mod toml_depth;
mod toml_source;

pub use collector::Collector;
pub use from_node::{FromNode, Spanned, TimeText};
pub use json_source::parse_json;
pub use near::nearest_name;
pub use node::{Key, Node, NodeValue};
pub(crate) use path::{item, join};
pub use place::TextPosition;
pub use problem::{Problem, Problems, Severity};
pub use shown_text::{by_number, hides, shown_text, visible, visible_lines};
pub use table_reader::TableReader;
pub use text_bytes::decode_utf8;
pub use toml_source::parse_toml;

/// How deep tables and lists may nest, the whole file included.
const MOST_DEPTH: usize = 64;
