//! Files in: how readings that were saved elsewhere reach the journal.
//!
//! * [`mod@file`]: the project's own reading file, in TOML or JSON.
//! * [`table`]: any table that can be saved as text (comma, semicolon or tab separated), with a column
//!   mapping that says which column holds what.
//! * [`descriptions`]: tables that say what trouble codes mean.
//! * [`bus_log`]: logs of the diagnostic bus, as witness of what was done.
//! * [`merge`]: several of them put together into one reading.
//!
//! Everything here is a function from bytes to values or problems; opening files is the caller's affair.

pub mod bus_log;
pub mod descriptions;
pub mod file;
pub mod merge;
pub mod table;
