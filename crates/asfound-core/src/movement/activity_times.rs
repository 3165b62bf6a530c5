//! Whether two readings belong to one sitting: then what differs between them moved by itself.

use time::{Duration, OffsetDateTime};

use super::contents::MomentContent;
use crate::entry::ReadingRole;
use crate::moment::TimeSpan;

/// No sitting takes longer: common practice, no source.
const LONGEST: Duration = Duration::hours(4);

/// When anything was done to a vehicle.
#[derive(Debug, Clone, Default)]
pub(super) struct ActivityTimes {
    /// By the first moment at which they can have happened.
    spans: Vec<TimeSpan>,
    /// The last moment of the spans up to each.
    latest: Vec<OffsetDateTime>,
}

impl ActivityTimes {
    pub(super) fn of(mut spans: Vec<TimeSpan>) -> Self {
        spans.sort_unstable_by_key(TimeSpan::first);
        let latest = spans.iter().scan(None, |latest: &mut Option<OffsetDateTime>, span| {
            *latest = Some(latest.map_or(span.last(), |latest| latest.max(span.last())));
            *latest
        });
        Self { latest: latest.collect(), spans }
    }

    /// Whether something may have been done between two moments.
    fn between(&self, from: OffsetDateTime, until: OffsetDateTime) -> bool {
        let begun = self.spans.partition_point(|span| span.first() <= until);
        self.latest[..begun].last().is_some_and(|latest| *latest >= from)
    }
}

/// Whether the vehicle was read twice without anything being done to it in between: on one day, within a few hours, the
/// same unit. `done` is everything that was done to the vehicle, in whatever record of whatever module.
///
/// Both must tell when they were taken: what is filed without its moment may be of last year.
///
/// A reading as left stands behind work, also where nobody recorded it: what differs from a reading before it says
/// nothing.
pub(super) fn is_one_sitting(before: &MomentContent<'_>, after: &MomentContent<'_>, done: &ActivityTimes) -> bool {
    let (a, b) = (before.read.when.first(), after.read.when.first());
    let other_unit = before.serial.zip(after.serial).is_some_and(|(a, b)| a != b);
    let day = |at: OffsetDateTime| at.to_offset(a.offset()).date();
    let work_is_meant = after.read.role == ReadingRole::AsLeft && before.read.role != ReadingRole::AsLeft;
    let soon = a < b && b - a <= LONGEST && day(a) == day(b);
    let told = before.read.told && after.read.told;
    told && soon && !other_unit && !work_is_meant && !done.between(a, b)
}
