//! Moments as people type them.

use asfound_core::entry::{Happened, Precision};
use time::format_description::BorrowedFormatItem;
use time::format_description::well_known::Rfc3339;
use time::macros::format_description;
use time::{Date, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

const MINUTE: &[BorrowedFormatItem<'_>] = format_description!("[year]-[month]-[day] [hour]:[minute]");
const DAY: &[BorrowedFormatItem<'_>] = format_description!("[year]-[month]-[day]");

/// Reads `2026`, `2026-03`, `2026-03-14`, `2026-03-14 09:20` or `2026-03-14T09:20:00+01:00`; without an offset, in that of `now`.
/// A date alone stays a date, and so do a month and a year.
///
/// # Errors
/// When it is none of these.
pub fn parse_moment(text: &str, offset: UtcOffset) -> Result<Happened, String> {
    if let Ok(moment) = OffsetDateTime::parse(text, &Rfc3339) {
        return Ok(moment.into());
    }
    if let Ok(moment) = PrimitiveDateTime::parse(text, MINUTE) {
        return Ok(moment.assume_offset(offset).into());
    }
    // Some moment within: noon is in the same day in most other places, too.
    let noon = Time::from_hms(12, 0, 0).map_err(|error| error.to_string())?;
    let dated = [("", Precision::Day), ("-01", Precision::Month), ("-01-01", Precision::Year)];
    let date = dated.iter().find_map(|(rest, how)| Some((Date::parse(&format!("{text}{rest}"), DAY).ok()?, *how)));
    date.map(|(date, precision)| Happened { at: date.with_time(noon).assume_offset(offset), precision }).ok_or_else(
        || format!("invalid time `{text}` (expected 2026-03-14, \"2026-03-14 09:20\" or 2026-03-14T09:20:00+01:00)"),
    )
}

#[cfg(test)]
mod tests {
    use time::macros::{datetime, offset};

    use super::*;

    #[test]
    fn ways_to_write_a_moment() {
        let parse = |text: &str| parse_moment(text, offset!(+1));
        assert_eq!(parse("2026-03-14T09:20:00+02:00"), Ok(datetime!(2026-03-14 09:20 +2).into()));
        assert_eq!(parse("2026-03-14 09:20"), Ok(datetime!(2026-03-14 09:20 +1).into()));
        let dated = |at, precision| Ok(Happened { at, precision });
        assert_eq!(parse("2026-03-14"), dated(datetime!(2026-03-14 12:00 +1), Precision::Day));
        assert_eq!(parse("2026-03"), dated(datetime!(2026-03-01 12:00 +1), Precision::Month));
        assert_eq!(parse("2026"), dated(datetime!(2026-01-01 12:00 +1), Precision::Year));
        for text in ["14.3.2026", "2026-13", "20", "2026-", ""] {
            assert!(parse(text).is_err(), "{text:?}");
        }
    }
}
