//! Moments as people type them.

use time::format_description::BorrowedFormatItem;
use time::format_description::well_known::Rfc3339;
use time::macros::format_description;
use time::{Date, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

const MINUTE: &[BorrowedFormatItem<'_>] = format_description!("[year]-[month]-[day] [hour]:[minute]");
const DAY: &[BorrowedFormatItem<'_>] = format_description!("[year]-[month]-[day]");

/// Reads `2026-03-14`, `2026-03-14 09:20` or `2026-03-14T09:20:00+01:00`; without an offset, in that of `now`.
///
/// # Errors
/// When it is none of these.
pub fn parse_moment(text: &str, offset: UtcOffset) -> Result<OffsetDateTime, String> {
    if let Ok(moment) = OffsetDateTime::parse(text, &Rfc3339) {
        return Ok(moment);
    }
    if let Ok(moment) = PrimitiveDateTime::parse(text, MINUTE) {
        return Ok(moment.assume_offset(offset));
    }
    let noon = Time::from_hms(12, 0, 0).map_err(|error| error.to_string())?;
    Date::parse(text, DAY).map(|date| date.with_time(noon).assume_offset(offset)).map_err(|_| {
        format!("`{text}` is no time: write 2026-03-14, \"2026-03-14 09:20\" or 2026-03-14T09:20:00+01:00")
    })
}

#[cfg(test)]
mod tests {
    use time::macros::{datetime, offset};

    use super::*;

    #[test]
    fn three_ways_to_write_a_moment() {
        let parse = |text: &str| parse_moment(text, offset!(+1));
        assert_eq!(parse("2026-03-14T09:20:00+02:00"), Ok(datetime!(2026-03-14 09:20 +2)));
        assert_eq!(parse("2026-03-14 09:20"), Ok(datetime!(2026-03-14 09:20 +1)));
        assert_eq!(parse("2026-03-14"), Ok(datetime!(2026-03-14 12:00 +1)));
        assert!(parse("14.3.2026").is_err());
    }
}
