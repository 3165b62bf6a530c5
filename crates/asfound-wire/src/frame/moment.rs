//! A moment in a log.

use std::fmt;

/// Nanoseconds since 1970-01-01 00:00 UTC, or since the log's start where the log counts from there.
///
/// What a log's clock says is a claim of the machine that wrote it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Moment(u64);

impl Moment {
    /// From nanoseconds.
    pub const fn from_nanoseconds(nanoseconds: u64) -> Self {
        Self(nanoseconds)
    }

    /// Nanoseconds since the start of counting.
    pub const fn nanoseconds(self) -> u64 {
        self.0
    }

    /// Nanoseconds from `earlier` to this moment; 0 where the log's clock went back.
    pub const fn since(self, earlier: Self) -> u64 {
        self.0.saturating_sub(earlier.0)
    }
}

/// Seconds with six decimals, as candump writes them.
impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{:06}", self.0 / 1_000_000_000, self.0 % 1_000_000_000 / 1000)
    }
}
