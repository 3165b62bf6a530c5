//! A moment in a log.

use std::fmt;
use std::num::NonZeroU64;
use std::time::Duration;

/// Nanoseconds since 1970-01-01 00:00 UTC, or since the log's start where the log counts from there.
///
/// What a log's clock says is a claim of the machine that wrote it.
///
/// Kept one larger than it is, so that a moment that may be missing takes no more room: a long log has very many of them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Timestamp(NonZeroU64);

impl Timestamp {
    /// From nanoseconds. The last that there can be, in the year 2554, counts as the one before.
    pub const fn from_nanoseconds(nanoseconds: u64) -> Self {
        Self(NonZeroU64::MIN.saturating_add(nanoseconds))
    }

    /// Nanoseconds since the start of counting.
    pub const fn nanoseconds(self) -> u64 {
        self.0.get() - 1
    }

    /// The moment that comes this much later; the last that there can be where it would come after that.
    pub fn after(self, time: Duration) -> Self {
        Self(self.0.saturating_add(u64::try_from(time.as_nanos()).unwrap_or(u64::MAX)))
    }

    /// Nanoseconds from `earlier` to this moment; 0 where the log's clock went back.
    pub const fn since(self, earlier: Self) -> u64 {
        self.0.get().saturating_sub(earlier.0.get())
    }
}

/// Seconds with six decimals, as candump writes them.
impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{:06}", self.nanoseconds() / 1_000_000_000, self.nanoseconds() % 1_000_000_000 / 1000)
    }
}

impl fmt::Debug for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Moment").field(&self.nanoseconds()).finish()
    }
}

impl Default for Timestamp {
    fn default() -> Self {
        Self::from_nanoseconds(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_what_it_was_made_of() {
        for nanoseconds in [0, 1, 1_700_000_000_123_456_789, u64::MAX - 1] {
            let moment = Timestamp::from_nanoseconds(nanoseconds);
            assert_eq!(moment.nanoseconds(), nanoseconds);
            assert_eq!(format!("{moment:?}"), format!("Moment({nanoseconds})"));
        }
        assert_eq!(Timestamp::from_nanoseconds(u64::MAX).nanoseconds(), u64::MAX - 1);
        assert_eq!(Timestamp::default().to_string(), "0.000000");
        assert_eq!(Timestamp::from_nanoseconds(1_500).to_string(), "0.000001");
        assert_eq!(size_of::<Option<Timestamp>>(), 8);
    }
}
