//! The number of an entry in a vehicle's journal.

use std::fmt;
use std::num::NonZeroU32;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why an entry number was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid entry number `{0}` (expected 1, 2, 3 …)")]
pub struct EntryNumberError(String);

/// Entries are numbered 1, 2, 3 … in each vehicle's journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EntryNumber(NonZeroU32);

impl EntryNumber {
    /// The first entry of every journal: the enrolment.
    pub const FIRST: Self = Self(NonZeroU32::MIN);

    /// The number `n`, or nothing for 0.
    pub fn new(n: u32) -> Option<Self> {
        NonZeroU32::new(n).map(Self)
    }

    /// The number as an integer.
    pub fn get(self) -> u32 {
        self.0.get()
    }

    /// The number of the entry that follows, or nothing at the end of the range.
    pub fn next(self) -> Option<Self> {
        self.0.checked_add(1).map(Self)
    }
}

impl FromStr for EntryNumber {
    type Err = EntryNumberError;
    fn from_str(text: &str) -> Result<Self, EntryNumberError> {
        text.parse().map(Self).map_err(|_| EntryNumberError(text.chars().take(24).collect()))
    }
}

impl fmt::Display for EntryNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
