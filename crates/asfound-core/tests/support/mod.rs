//! What the tests of the model share: a journal in memory, readings in a line, invented definitions.

#![allow(dead_code, unused_imports)] // every test binary takes what it needs

mod definitions;
mod journal;
mod oracle;
mod readings;
mod sheet;
mod vehicle;

pub use definitions::{BODY_1, BODY_2, BRAKES, CLUSTER};
pub use journal::{Journal, Life, carried_out, correction, field, life, number, step};
pub use oracle::{Came, Held, KnownBytes, KnownModule, Step, Tells};
pub use readings::{Said, hex, path, reading, shown};
pub use sheet::{Dice, Meaning, Record, Rule, Setting, Sheet};
pub use vehicle::{Unit, roll_vehicle};
