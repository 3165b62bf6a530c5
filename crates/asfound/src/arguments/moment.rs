//! Moments as people type them.

use asfound_core::moment::{Precision, StatedTime};
use thiserror::Error;
use time::format_description::BorrowedFormatItem;
use time::format_description::well_known::Rfc3339;
use time::macros::{format_description, time};
use time::{Date, OffsetDateTime, PrimitiveDateTime};

use crate::failure::Failure;
use crate::setup::{LocalTimeError, Zone};

const MINUTE: &[BorrowedFormatItem<'_>] = format_description!("[year]-[month]-[day] [hour]:[minute]");
const DAY: &[BorrowedFormatItem<'_>] = format_description!("[year]-[month]-[day]");

/// Why a text is no moment.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MomentError {
    /// It is not written as one.
    #[error("invalid time `{0}` (expected 2026-03-14, \"2026-03-14 09:20\" or 2026-03-14T09:20:00+01:00)")]
    Form(String),
    /// The clocks of the place showed it twice, or never.
    #[error(transparent)]
    Local(#[from] LocalTimeError),
}

impl From<MomentError> for Failure {
    fn from(error: MomentError) -> Self {
        let hint = match &error {
            MomentError::Form(_) => None,
            MomentError::Local(error) => error.hint(),
        };
        Self::usage(error).maybe_hint(hint)
    }
}

/// Reads `2026`, `2026-03`, `2026-03-14`, `2026-03-14 09:20` or `2026-03-14T09:20:00+01:00`. Without an offset it is a time
/// in `zone`, with the offset that the zone had then. A date alone stays a date, and so do a month and a year.
///
/// # Errors
/// When it is none of these, or a time that the clocks of the zone showed twice, or never.
pub fn parse_moment(text: &str, zone: &Zone) -> Result<StatedTime, MomentError> {
    let local = |local| zone.moment(local);
    if let Ok(moment) = OffsetDateTime::parse(text, &Rfc3339) {
        return Ok(moment.into());
    }
    if let Ok(moment) = PrimitiveDateTime::parse(text, MINUTE) {
        return Ok(local(moment)?.into());
    }
    // Some moment within: noon is in the same day in most other places, too.
    let noon = time!(12:00);
    let dated = [("", Precision::Day), ("-01", Precision::Month), ("-01-01", Precision::Year)];
    let date = dated.iter().find_map(|(rest, how)| Some((Date::parse(&format!("{text}{rest}"), DAY).ok()?, *how)));
    let (date, precision) = date.ok_or_else(|| MomentError::Form(text.to_owned()))?;
    Ok(StatedTime { at: local(date.with_time(noon))?, precision })
}

#[cfg(test)]
mod tests {
    use time::macros::{datetime, offset};

    use super::*;

    #[test]
    fn ways_to_write_a_moment() {
        let parse = |text: &str| parse_moment(text, &Zone::Fixed(offset!(+1))).map_err(|error| error.to_string());
        assert_eq!(parse("2026-03-14T09:20:00+02:00"), Ok(datetime!(2026-03-14 09:20 +2).into()));
        assert_eq!(parse("2026-03-14 09:20"), Ok(datetime!(2026-03-14 09:20 +1).into()));
        let dated = |at, precision| Ok(StatedTime { at, precision });
        assert_eq!(parse("2026-03-14"), dated(datetime!(2026-03-14 12:00 +1), Precision::Day));
        assert_eq!(parse("2026-03"), dated(datetime!(2026-03-01 12:00 +1), Precision::Month));
        assert_eq!(parse("2026"), dated(datetime!(2026-01-01 12:00 +1), Precision::Year));
        for text in ["14.3.2026", "2026-13", "20", "2026-", ""] {
            assert!(parse(text).is_err(), "{text:?}");
        }
    }

    #[test]
    fn a_time_has_the_offset_of_its_own_date() {
        let berlin = Zone::Place(jiff::tz::TimeZone::get("Europe/Berlin").unwrap());
        let parse = |text: &str| parse_moment(text, &berlin).map(|moment| moment.at);
        assert_eq!(parse("2026-07-01 09:20").unwrap().offset(), offset!(+2));
        assert_eq!(parse("2026-12-01 09:20").unwrap().offset(), offset!(+1));
        assert_eq!(parse("2026-07-01").unwrap(), datetime!(2026-07-01 12:00 +2));
        assert_eq!(parse("2026-10-25T02:30:00+01:00").unwrap(), datetime!(2026-10-25 02:30 +1));
        let twice = Failure::from(parse("2026-10-25 02:30").unwrap_err());
        assert_eq!(twice.hint.unwrap(), "write 2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00");
        assert!(parse("2026-03-29 02:30").unwrap_err().to_string().contains("never came"));
    }
}
