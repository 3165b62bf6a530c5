//! Seals, proofs and disclosures of whole journals.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

mod altered;
mod hidden;
mod recorded;
mod sealed;
mod shown;
mod story;
