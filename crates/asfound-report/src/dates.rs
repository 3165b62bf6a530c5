//! Dates as people read them: the month in letters, so that no order of figures is mistaken.

use asfound_core::moment::{Precision, StatedTime};
use time::OffsetDateTime;
use time::format_description::BorrowedFormatItem;
use time::macros::format_description;

const DATE: &[BorrowedFormatItem<'_>] = format_description!("[day padding:none] [month repr:long] [year]");
const DATE_AND_TIME: &[BorrowedFormatItem<'_>] =
    format_description!("[day padding:none] [month repr:long] [year], [hour]:[minute]");

const MONTH: &[BorrowedFormatItem<'_>] = format_description!("[month repr:long] [year]");
const SHORT: &[BorrowedFormatItem<'_>] = format_description!("[day padding:none] [month repr:short] [year]");

/// `14 March 2026, 09:20`, or no more of it than is known: `14 March 2026`, `March 2026`, `2026`.
pub fn date_as_known(at: StatedTime) -> String {
    match at.precision {
        Precision::Second => date_and_time(at.at),
        Precision::Day => date(at.at),
        Precision::Month => at.at.format(MONTH).unwrap_or_else(|_| at.to_string()),
        Precision::Year => at.to_string(),
    }
}

/// `14 March 2026`
pub fn date(at: OffsetDateTime) -> String {
    at.format(DATE).unwrap_or_else(|_| at.to_string())
}

/// `14 March 2026, 09:20`, in the offset in which it was recorded.
pub fn date_and_time(at: OffsetDateTime) -> String {
    at.format(DATE_AND_TIME).unwrap_or_else(|_| at.to_string())
}

/// `14 Mar 2026`, for tables.
pub fn short_date(at: OffsetDateTime) -> String {
    at.format(SHORT).unwrap_or_else(|_| at.to_string())
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn months_are_letters() {
        let at = datetime!(2026-03-04 09:05 +1);
        assert_eq!(date(at), "4 March 2026");
        assert_eq!(date_and_time(at), "4 March 2026, 09:05");
        assert_eq!(short_date(at), "4 Mar 2026");
        let known = |precision| date_as_known(StatedTime { at, precision });
        assert_eq!(known(Precision::Second), "4 March 2026, 09:05");
        assert_eq!(known(Precision::Day), "4 March 2026");
        assert_eq!(known(Precision::Month), "March 2026");
        assert_eq!(known(Precision::Year), "2026");
    }
}
