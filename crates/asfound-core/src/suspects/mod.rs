//! What a trouble code may have to do with: a circumstance that many codes share, and the entries in question.

mod circumstance;

pub use circumstance::{Circumstance, MANY_MODULES, common_circumstance};
