//! Files in: how readings that were saved elsewhere reach the journal.
//!
//! * [`table`]: any table that can be saved as text (comma, semicolon or tab separated), with a column
//!   mapping that says which column holds what.
//!
//! Everything here is a function from bytes to values or problems; opening files is the caller's affair.

pub mod table;
