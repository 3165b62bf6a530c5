//! What an audit says of every kind of damage and tampering, to the letter.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

mod acknowledged;
mod beside;
mod commits;
mod contents;
mod flips;
mod keys;
mod objects;
mod place;
mod rewritten;
mod sheets;
mod signed;
mod sound;
mod story;
mod together;
mod trees;
