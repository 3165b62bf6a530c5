//! Bus logs whose clock shows local time.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use asfound_wire::frame::{CanFrame, CanId, Interfaces, Timestamp};
use asfound_wire::log::candump_line;
use time::{OffsetDateTime, PrimitiveDateTime};

use crate::failure::Failure;
use crate::filing::unreadable;
use crate::setup::Zone;

/// How much of a log is looked at for its first line.
const LOOKED_AT: u64 = 1 << 16;

/// When logs began whose lines show dates, which candump writes in local time and without an offset. Nothing where their
/// times are seconds since 1970, or the zone's clocks show UTC.
///
/// # Errors
/// When a log cannot be opened; or the clocks of the zone showed its first time twice, or never.
pub fn began_by_local_clock(logs: &[PathBuf], zone: &Zone) -> Result<Option<OffsetDateTime>, Failure> {
    let mut first: Option<OffsetDateTime> = None;
    for log in logs {
        let Some(local) = first_date(log)? else { return Ok(None) };
        first = Some(first.map_or(local, |first| first.min(local)));
    }
    let Some(shown) = first else { return Ok(None) };
    let began = zone.moment(PrimitiveDateTime::new(shown.date(), shown.time())).map_err(|error| {
        Failure::usage(format!("the log begins at {error}")).hint(format!(
            "say when it began: `--began TIME`{}",
            error.hint().map_or_else(String::new, |hint| format!("; {hint}"))
        ))
    })?;
    Ok(Some(began).filter(|began| *began != shown))
}

/// What the first line of a log shows, if it is a date, as if it were UTC.
fn first_date(log: &Path) -> Result<Option<OffsetDateTime>, Failure> {
    let mut beginning = Vec::new();
    let file = File::open(log).map_err(|error| unreadable(log, &error))?;
    file.take(LOOKED_AT).read_to_end(&mut beginning).map_err(|error| unreadable(log, &error))?;
    Ok(first_date_in(&beginning))
}

fn first_date_in(text: &[u8]) -> Option<OffsetDateTime> {
    let mut frame = CanFrame::new(CanId::standard(0).ok()?, &[])?;
    let mut interfaces = Interfaces::default();
    let is_frame = |line: &&[u8]| candump_line(line, &mut interfaces, &mut frame) == Ok(true);
    let line = text.split(|byte| *byte == b'\n').find(is_frame)?;
    let shows_date = line.trim_ascii_start().strip_prefix(b"(")?.trim_ascii_start().get(4) == Some(&b'-');
    let nanoseconds = frame.moment.map(Timestamp::nanoseconds).filter(|_| shows_date)?;
    OffsetDateTime::from_unix_timestamp_nanos(i128::from(nanoseconds)).ok()
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn only_dates_are_local() {
        let first = |text: &str| first_date_in(text.as_bytes());
        assert_eq!(
            first("# a comment\n\n (2025-07-01 09:20:00.250000)  can0  7E0   [3]  02 10 03\n"),
            Some(datetime!(2025-07-01 09:20:00.25 UTC))
        );
        assert_eq!(first("(1751361600.250000) can0 7E0#021003\n"), None);
        assert_eq!(first("can0  7E0   [3]  02 10 03\n"), None);
        assert_eq!(first("\u{0}\u{1}"), None);
    }
}
