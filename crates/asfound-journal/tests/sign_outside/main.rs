//! Signatures, held against the real git and the real OpenSSH.
//!
//! Every key is made for one test in a temporary folder. Where `ssh-keygen` or `ssh-agent` is missing, the tests that
//! need it say so and check nothing; those in `altered` need neither.
#![allow(
    clippy::disallowed_methods,
    clippy::similar_names,
    reason = "a test looks for the programs that it compares with"
)]
#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

mod agent;
mod altered;
mod keys;
mod list;
mod support;
mod times;
