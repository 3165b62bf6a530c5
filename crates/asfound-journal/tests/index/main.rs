//! The index, held against the journals themselves: whatever becomes of its files, the answers are the same.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

mod damage;
mod forged;
#[path = "../../../../tests/src/index_forger.rs"]
mod index_forger;
mod random;
#[path = "../audit_damage/story.rs"]
#[allow(dead_code, reason = "other tests tell more of the story")]
mod story;
mod support;
mod together;
