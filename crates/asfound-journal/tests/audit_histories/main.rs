//! Random histories, filed as the program files them: nobody has touched them, so the audit finds nothing in them, and neither
//! does `tests/oracles/verify.py`, which knows nothing of this program but its pages.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]
#![allow(clippy::print_stderr, reason = "a test that is left out says so")]

mod history;
mod sound;
mod units;
