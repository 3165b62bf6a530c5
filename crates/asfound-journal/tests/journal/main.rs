//! The store, the garage and the real git, held against each other.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

mod contract;
mod crowd;
mod damage;
mod flips;
mod forged;
mod garage;
mod kills;
mod packing;
mod plain_git;
mod support;
mod waiting;
mod writers;
