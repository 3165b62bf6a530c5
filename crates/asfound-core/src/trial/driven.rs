//! Whether the vehicle was driven between work and a reading.

use time::OffsetDateTime;

use crate::entry::{Body, Entry};
use crate::names::EntryNumber;

/// When some work was done, by its place in the journal and by the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Done {
    pub(crate) number: EntryNumber,
    pub(crate) happened: OffsetDateTime,
}

impl From<&Entry> for Done {
    fn from(entry: &Entry) -> Self {
        Self { number: entry.number, happened: entry.happened }
    }
}

/// Whether a reading was taken after the vehicle was driven since `work`: on a later day, or with more kilometres.
///
/// The day is that of the place where the work was done. Kilometres are held against an earlier reading that was taken
/// after the work, or on its day: what was driven before that day says nothing. `readings` are all readings of the journal.
pub fn driven_after<'e>(work: &Entry, reading: &Entry, readings: impl IntoIterator<Item = &'e Entry>) -> bool {
    driven_since(Done::from(work), reading, readings)
}

pub(crate) fn driven_since<'e>(work: Done, reading: &Entry, readings: impl IntoIterator<Item = &'e Entry>) -> bool {
    if reading.number <= work.number {
        return false;
    }
    let offset = work.happened.offset();
    let day = work.happened.date();
    if reading.happened.to_offset(offset).date() > day {
        return true;
    }
    let Some(now) = odometer(reading) else { return false };
    let counts = |earlier: &Entry| {
        earlier.number < reading.number
            && (earlier.number > work.number || earlier.happened.to_offset(offset).date() == day)
    };
    readings.into_iter().filter(|earlier| counts(earlier)).filter_map(odometer).any(|earlier| now > earlier)
}

fn odometer(entry: &Entry) -> Option<u32> {
    match &entry.body {
        Body::Reading(reading) => reading.odometer_km,
        _ => None,
    }
}
