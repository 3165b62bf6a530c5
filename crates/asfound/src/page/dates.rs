//! Dates as people read them: the month in letters, so that no order of figures is mistaken.

use time::OffsetDateTime;
use time::format_description::BorrowedFormatItem;
use time::macros::format_description;

const DATE: &[BorrowedFormatItem<'_>] = format_description!("[day padding:none] [month repr:long] [year]");
const DATE_AND_TIME: &[BorrowedFormatItem<'_>] =
    format_description!("[day padding:none] [month repr:long] [year], [hour]:[minute]");

/// `14 March 2026`
pub fn date(at: OffsetDateTime) -> String {
    at.format(DATE).unwrap_or_else(|_| at.to_string())
}

/// `14 March 2026, 09:20`, in the offset in which it was recorded.
pub fn date_and_time(at: OffsetDateTime) -> String {
    at.format(DATE_AND_TIME).unwrap_or_else(|_| at.to_string())
}
