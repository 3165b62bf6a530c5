//! What the tests of the model share: a journal in memory, readings in a line, invented definitions.

#![allow(dead_code, unused_imports)] // every test binary takes what it needs

mod definitions;
mod journal;
mod readings;

pub use definitions::{BODY_1, BODY_2, BRAKES, CLUSTER};
pub use journal::{Journal, Life, field, life, number};
pub use readings::{Said, hex, path, reading};
