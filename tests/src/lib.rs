//! What the end-to-end tests have in common.
//!
//! A [`Workshop`] is a folder of its own with a garage in it, a clock that moves on with every command and a fixed
//! author; it runs the program in this process, or as a process of its own. [`json`] mirrors the JSON that the program
//! writes, strictly; [`plain_git`] looks at the garage with ordinary git; [`merkle`] computes tree roots as
//! RFC 9162 defines them, without the program's own code.

mod bus;
mod demonstration;
mod index_forger;
mod ip_log;
pub mod json;
pub mod merkle;
pub mod plain_git;
mod ran;
mod shelter;
mod stories;
mod words;
mod workshop;

pub use bus::{BusLog, BusModule, hex_of};
pub use demonstration::demonstration;
pub use index_forger::ForgedIndex;
pub use ip_log::IpLog;
pub use ran::Ran;
pub use workshop::{AUTHOR, JsonLine, Workshop};
