//! The project's own reading file, `asfound-reading/1`, in TOML or JSON.

mod module;
mod parse;

pub use parse::{READING_FORMAT, ReadingSyntax, parse_reading};
