//! Whether the vehicle was driven between work and a reading.

use time::OffsetDateTime;

use crate::entry::{Body, Entry, Moment};
use crate::names::EntryNumber;

/// When some work was done, by its place in the journal and by the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct WorkTime {
    pub(crate) number: EntryNumber,
    pub(crate) happened: OffsetDateTime,
    pub(crate) moment: Moment,
}

impl From<&Entry> for WorkTime {
    fn from(entry: &Entry) -> Self {
        Self { number: entry.number, happened: entry.happened, moment: entry.moment() }
    }
}

/// Whether a reading was taken after the vehicle was driven since `work`: certainly after it, and on a later day or with more
/// kilometres.
///
/// The day is that of the place where the work was done. Kilometres are held against an earlier reading that was taken
/// after the work, or against the last one before it where that is of the same day: what was driven before the work says
/// nothing. `readings` are all readings of the journal.
pub fn driven_after<'e>(work: &Entry, reading: &Entry, readings: impl IntoIterator<Item = &'e Entry>) -> bool {
    driven_since(WorkTime::from(work), reading, readings)
}

pub(crate) fn driven_since<'e>(work: WorkTime, reading: &Entry, readings: impl IntoIterator<Item = &'e Entry>) -> bool {
    let taken = reading.moment();
    if !work.moment.is_before(&taken) {
        return false;
    }
    let offset = work.happened.offset();
    let day = work.moment.span().last().to_offset(offset).date();
    if taken.span().first().to_offset(offset).date() > day {
        return true;
    }
    let Some(now) = odometer(reading) else { return false };
    let mut last_before: Option<(Moment, u32)> = None;
    for earlier in readings {
        let Some(km) = odometer(earlier) else { continue };
        let moment = earlier.moment();
        if work.moment.is_before(&moment) {
            if moment.is_before(&taken) && now > km {
                return true;
            }
        } else if moment.is_before(&work.moment)
            && last_before.is_none_or(|(last, _)| last.sort_key() < moment.sort_key())
        {
            last_before = Some((moment, km));
        }
    }
    last_before.is_some_and(|(last, km)| last.span().last().to_offset(offset).date() == day && now > km)
}

fn odometer(entry: &Entry) -> Option<u32> {
    match &entry.body {
        Body::Reading(reading) => reading.odometer_km,
        _ => None,
    }
}
