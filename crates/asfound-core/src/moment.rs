//! When something happened, as exactly as it is known, and what can be said of the order of two moments.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;
use time::{Date, Duration, Month, OffsetDateTime, Time};

/// How exactly a moment is known.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Precision {
    /// To the second.
    #[default]
    Second,
    /// The day alone.
    Day,
    /// The month alone.
    Month,
    /// The year alone.
    Year,
}

/// A text that names no precision.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid precision `{0}` (expected second, day, month or year)")]
pub struct PrecisionError(String);

impl Precision {
    /// Whether it is the usual one, which is not written down.
    pub fn is_second(&self) -> bool {
        *self == Self::Second
    }

    /// The word for it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Second => "second",
            Self::Day => "day",
            Self::Month => "month",
            Self::Year => "year",
        }
    }
}

impl FromStr for Precision {
    type Err = PrecisionError;
    fn from_str(text: &str) -> Result<Self, PrecisionError> {
        let all = [Self::Second, Self::Day, Self::Month, Self::Year];
        let named = all.into_iter().find(|precision| precision.as_str() == text);
        named.ok_or_else(|| PrecisionError(text.chars().take(24).collect()))
    }
}

impl fmt::Display for Precision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

/// A moment as somebody told it: a point in the time that is meant, and how exactly it is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StatedTime {
    /// The moment; of a day, month or year some moment in it.
    pub at: OffsetDateTime,
    /// How exactly it is known.
    pub precision: Precision,
}

impl From<OffsetDateTime> for StatedTime {
    fn from(at: OffsetDateTime) -> Self {
        Self { at, precision: Precision::Second }
    }
}

impl fmt::Display for StatedTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (date, month) = (self.at.date(), u8::from(self.at.month()));
        match self.precision {
            Precision::Second => f.pad(&self.at.to_string()),
            Precision::Day => f.pad(&date.to_string()),
            Precision::Month => f.pad(&format!("{:04}-{month:02}", date.year())),
            Precision::Year => f.pad(&format!("{:04}", date.year())),
        }
    }
}

/// The time in which something happened: some moment from the first to the last, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TimeSpan {
    first: OffsetDateTime,
    last: OffsetDateTime,
}

impl TimeSpan {
    /// The day, month or year around a moment, in the offset that it is told in; the moment itself where it is known to the
    /// second.
    pub fn around(at: OffsetDateTime, precision: Precision) -> Self {
        let date = at.date();
        let (first, last) = match precision {
            Precision::Second => return Self { first: at, last: at },
            Precision::Day => (date, date),
            Precision::Month => {
                let day = date.month().length(date.year());
                (with_day(date, 1), with_day(date, day))
            }
            Precision::Year => {
                let of_year = |month, day| Date::from_calendar_date(date.year(), month, day).unwrap_or(date);
                (of_year(Month::January, 1), of_year(Month::December, 31))
            }
        };
        let at_time = |date: Date, time: Time| date.with_time(time).assume_offset(at.offset());
        let end = at_time(last, Time::MIDNIGHT).checked_add(Duration::seconds(24 * 60 * 60 - 1));
        Self { first: at_time(first, Time::MIDNIGHT), last: end.unwrap_or(at) }
    }

    /// The same without what comes after `filed`: nobody files what is yet to happen. Of a moment that lies there as a whole, by
    /// a wrong clock, nothing more is known than that it was filed then.
    #[must_use]
    pub fn until(self, filed: OffsetDateTime) -> Self {
        Self { first: self.first.min(filed), last: self.last.min(filed) }
    }

    /// The same, where it can have happened already at `earliest`.
    #[must_use]
    pub fn since(self, earliest: OffsetDateTime) -> Self {
        Self { first: self.first.min(earliest), ..self }
    }

    /// The first moment at which it can have happened.
    pub fn first(&self) -> OffsetDateTime {
        self.first
    }

    /// The last moment at which it can have happened.
    pub fn last(&self) -> OffsetDateTime {
        self.last
    }

    /// Whether all of it lies before all of the other.
    pub fn is_before(&self, other: &Self) -> bool {
        self.last < other.first
    }
}

fn with_day(date: Date, day: u8) -> Date {
    date.replace_day(day).unwrap_or(date)
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn a_moment_is_as_wide_as_it_is_known() {
        let at = datetime!(2024-02-14 09:20 +01:00);
        let around = |precision| {
            let span = TimeSpan::around(at, precision);
            (span.first(), span.last())
        };
        assert_eq!(around(Precision::Second), (at, at));
        let day = (datetime!(2024-02-14 00:00 +01:00), datetime!(2024-02-14 23:59:59 +01:00));
        assert_eq!(around(Precision::Day), day);
        let month = (datetime!(2024-02-01 00:00 +01:00), datetime!(2024-02-29 23:59:59 +01:00));
        assert_eq!(around(Precision::Month), month);
        let year = (datetime!(2024-01-01 00:00 +01:00), datetime!(2024-12-31 23:59:59 +01:00));
        assert_eq!(around(Precision::Year), year);
    }

    #[test]
    fn what_is_filed_has_happened() {
        let day = TimeSpan::around(datetime!(2024-02-14 12:00 UTC), Precision::Day);
        let filed = datetime!(2024-02-14 10:00 UTC);
        assert_eq!(day.until(filed).last(), filed);
        assert_eq!(day.until(datetime!(2024-02-15 10:00 UTC)), day);
        // By a clock that is behind, it was filed before it happened.
        let behind = datetime!(2024-02-13 10:00 UTC);
        assert_eq!((day.until(behind).first(), day.until(behind).last()), (behind, behind));
    }

    #[test]
    fn precisions_have_words() {
        for precision in [Precision::Second, Precision::Day, Precision::Month, Precision::Year] {
            assert_eq!(precision.to_string().parse(), Ok(precision));
        }
        assert!("hour".parse::<Precision>().is_err());
    }
}
