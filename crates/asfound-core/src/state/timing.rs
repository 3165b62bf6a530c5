//! What is worth saying of the moment of an entry that is about to be filed.

use time::OffsetDateTime;

use super::State;
use crate::entry::Moment;
use crate::names::EntryNumber;

/// Something about a moment that may be a slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimingRemark {
    /// It lies after the moment of filing, which is this one.
    Future(OffsetDateTime),
    /// It lies before the journal was started.
    BeforeEnrolment(OffsetDateTime),
    /// Something is known already that is later: an entry and its moment. What is known stays.
    Earlier(EntryNumber, OffsetDateTime),
    /// It cannot be told whether it is earlier or later than what an entry says.
    NotOrdered(EntryNumber, OffsetDateTime),
}

impl State {
    /// What is worth saying of the moment of something that is filed at `recorded`.
    pub fn timing(&self, moment: Moment, recorded: OffsetDateTime) -> Vec<TimingRemark> {
        let mut remarks = Vec::new();
        if moment.is_ahead() {
            remarks.push(TimingRemark::Future(recorded));
        }
        if let Some(vehicle) = &self.vehicle
            && moment.span().last() < vehicle.enrolled.truncate_to_second()
        {
            remarks.push(TimingRemark::BeforeEnrolment(vehicle.enrolled));
        }
        let latest = self.modules.values().filter_map(|module| module.seen_at);
        if let Some(latest) = latest.max_by_key(Moment::sort_key).filter(|latest| !latest.is_before(&moment)) {
            let (entry, at) = (latest.number(), latest.span().last());
            let earlier = moment.is_before(&latest);
            remarks.push(if earlier { TimingRemark::Earlier(entry, at) } else { TimingRemark::NotOrdered(entry, at) });
        }
        remarks
    }
}
