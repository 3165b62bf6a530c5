//! Moments as a list of signers writes them.

use std::fmt;
use std::str::FromStr;

use time::{Date, Month, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

/// A moment in OpenSSH's form: `YYYYMMDD`, `YYYYMMDDHHMM` or `YYYYMMDDHHMMSS`, with a `Z` where it is in UTC.
///
/// Without the `Z` it is in the time zone of whoever reads it; what is written here always has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    at: PrimitiveDateTime,
    utc: bool,
}

impl Stamp {
    /// The moment, to the second.
    pub fn of(at: OffsetDateTime) -> Self {
        let at = at.to_offset(UtcOffset::UTC);
        Self { at: PrimitiveDateTime::new(at.date(), at.time()).truncate_to_second(), utc: true }
    }

    /// The moment, in this offset where the text does not say one.
    pub fn at(self, offset: UtcOffset) -> OffsetDateTime {
        self.at.assume_offset(if self.utc { UtcOffset::UTC } else { offset })
    }
}

impl FromStr for Stamp {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let (digits, utc) = text.strip_suffix(['Z', 'z']).map_or((text, false), |digits| (digits, true));
        if !matches!(digits.len(), 8 | 12 | 14) || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(());
        }
        let number = |from: usize, to: usize| digits.get(from..to).map_or(Ok(0), str::parse::<u8>).map_err(|_| ());
        let year: i32 = digits[..4].parse().map_err(|_| ())?;
        let month = Month::try_from(number(4, 6)?).map_err(|_| ())?;
        let date = Date::from_calendar_date(year, month, number(6, 8)?).map_err(|_| ())?;
        let time = Time::from_hms(number(8, 10)?, number(10, 12)?, number(12, 14)?).map_err(|_| ())?;
        Ok(Self { at: PrimitiveDateTime::new(date, time), utc })
    }
}

impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (date, time) = (self.at.date(), self.at.time());
        let (hour, minute, second) = time.as_hms();
        let zone = if self.utc { "Z" } else { "" };
        let (year, month, day) = (date.year(), u8::from(date.month()), date.day());
        write!(f, "{year:04}{month:02}{day:02}{hour:02}{minute:02}{second:02}{zone}")
    }
}

#[cfg(test)]
mod tests {
    use time::macros::{datetime, offset};

    use super::*;

    #[test]
    fn three_forms_with_and_without_zone() {
        let at = |text: &str| text.parse::<Stamp>().map(|stamp| stamp.at(offset!(+1)));
        assert_eq!(at("20260314"), Ok(datetime!(2026-03-14 00:00 +1)));
        assert_eq!(at("202603140920Z"), Ok(datetime!(2026-03-14 09:20 UTC)));
        assert_eq!(at("20260314092005"), Ok(datetime!(2026-03-14 09:20:05 +1)));
        for text in ["", "2026", "20261301", "20260230", "202603142460", "2026031409200Z", "2026031ä"] {
            assert_eq!(at(text), Err(()), "{text:?}");
        }
        assert_eq!(Stamp::of(datetime!(2026-03-14 00:20:05.9 +1)).to_string(), "20260313232005Z");
    }
}
