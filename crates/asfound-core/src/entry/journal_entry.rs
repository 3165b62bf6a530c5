//! One line of a journal.

use time::OffsetDateTime;

use super::{Author, Body, Reason};
use crate::moment::{Precision, StatedTime, TimeSpan};
use crate::names::EntryNumber;

/// One line of a journal; never edited, never removed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its number in the vehicle's journal.
    pub number: EntryNumber,
    /// When it was filed.
    pub recorded: OffsetDateTime,
    /// When what it tells of happened: the reading was taken, the change was made.
    pub happened: OffsetDateTime,
    /// How exactly `happened` is known.
    pub precision: Precision,
    /// Who filed it.
    pub author: Author,
    /// Why.
    pub why: Reason,
    /// What it holds.
    pub body: Body,
}

impl Entry {
    /// When what it tells of happened.
    pub fn moment(&self) -> Moment {
        let happened = StatedTime { at: self.happened, precision: self.precision };
        Moment::new(self.number, happened, self.recorded)
    }
}

/// When what an entry tells of happened, with what its filing says of that.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    number: EntryNumber,
    span: TimeSpan,
    recorded: OffsetDateTime,
    at_once: bool,
    /// Whether it is told to lie after its own filing.
    ahead: bool,
}

impl Moment {
    /// Of an entry with that number, filed when it was recorded. Entries keep whole seconds.
    pub fn new(number: EntryNumber, happened: StatedTime, recorded: OffsetDateTime) -> Self {
        let (at, recorded) = (happened.at.truncate_to_second(), recorded.truncate_to_second());
        Self {
            number,
            span: TimeSpan::around(at, happened.precision).until(recorded),
            recorded,
            at_once: happened.precision.is_second() && at >= recorded,
            ahead: TimeSpan::around(at, happened.precision).first() > recorded,
        }
    }

    /// The same of work that somebody noted without saying when it was done: it was done by then, and after `earliest`.
    #[must_use]
    pub fn noted_after(self, earliest: OffsetDateTime) -> Self {
        if self.at_once { Self { span: self.span.since(earliest), ..self } } else { self }
    }

    /// The same of an entry with another number.
    #[must_use]
    pub fn numbered(self, number: EntryNumber) -> Self {
        Self { number, ..self }
    }

    /// The same, told later to have happened at another time; how far filing tells the order stays as it was.
    #[must_use]
    pub fn corrected(self, happened: StatedTime) -> Self {
        let span = TimeSpan::around(happened.at.truncate_to_second(), happened.precision).until(self.recorded);
        Self { span, at_once: false, ahead: false, ..self }
    }

    /// The later of two; of two that cannot be ordered this one.
    #[must_use]
    pub fn or_later(self, other: Self) -> Self {
        if self.is_before(&other) { other } else { self }
    }

    /// The entry.
    pub fn number(&self) -> EntryNumber {
        self.number
    }

    /// Whether it is told to lie after its own filing, which a wrong clock brings about.
    pub fn is_ahead(&self) -> bool {
        self.ahead
    }

    /// Whether somebody told it to the second: what tells no moment is filed as of its filing.
    pub fn is_told(&self) -> bool {
        !self.at_once && self.span.first() == self.span.last()
    }

    /// The time in which it happened.
    pub fn span(&self) -> TimeSpan {
        self.span
    }

    /// Whether this certainly happened before the other: by the clock; or because it was filed already when the other happened
    /// and was filed at once; or because both are of one second and were filed together, in the order in which they happened.
    pub fn is_before(&self, other: &Self) -> bool {
        if self.span.is_before(&other.span) {
            return true;
        }
        let filed_together = self.recorded == other.recorded && self.span == other.span;
        // What was noted at once was so at the latest when it was filed, and what was filed before it was already known.
        let begins = if other.at_once { other.span.last() } else { other.span.first() };
        self.number < other.number && self.span.last() <= begins && (other.at_once || filed_together)
    }

    /// A key that sorts moments, so that none stands behind another that is certainly later. Of moments that cannot be told
    /// apart the one that was filed first comes first.
    pub fn sort_key(&self) -> (OffsetDateTime, EntryNumber) {
        (self.span.last(), self.number)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use time::macros::datetime;

    use super::*;
    use crate::names::EntryNumber;

    fn moment(number: u32, happened: OffsetDateTime, precision: Precision, recorded: OffsetDateTime) -> Moment {
        let author = Author::new("Edda Brandt", None).unwrap();
        let why = Reason::try_from("because".to_owned()).unwrap();
        let number = EntryNumber::new(number).unwrap();
        Entry { number, recorded, happened, precision, author, why, body: Body::Note(None) }.moment()
    }

    #[test]
    fn filing_tells_the_order_of_what_is_filed_at_once() {
        let noon = datetime!(2026-03-14 12:00 UTC);
        let first = moment(1, noon, Precision::Second, noon);
        let second = moment(2, noon, Precision::Second, noon);
        assert!(first.is_before(&second) && !second.is_before(&first));
        // One of the same second that is filed an hour later may have happened before or after.
        let late = moment(3, noon, Precision::Second, datetime!(2026-03-14 13:00 UTC));
        assert!(!late.is_before(&second) && !second.is_before(&late));
    }

    #[test]
    fn what_is_noted_may_have_been_done_before() {
        let hour = |hour: i64| datetime!(2026-03-14 00:00 UTC) + time::Duration::hours(hour);
        let at_once = |number, at| moment(number, hour(at), Precision::Second, hour(at));
        let (found, work, next) = (at_once(1, 9), at_once(2, 11).noted_after(hour(9)), at_once(4, 11));
        // Taken before the work was noted, and filed afterwards.
        let reading = moment(3, hour(10), Precision::Second, hour(12));
        assert!(!reading.is_before(&work) && !work.is_before(&reading));
        // What was filed before it was known when it was noted; what was filed at once afterwards is later.
        assert!(found.is_before(&work) && work.is_before(&next) && !work.is_before(&found));
        let told = moment(5, hour(9), Precision::Second, hour(12)).noted_after(hour(8));
        assert!(told.is_before(&reading), "told to the second, it is where it was told");
    }

    #[test]
    fn a_day_orders_other_days_only() {
        let filed = datetime!(2026-03-20 12:00 UTC);
        let day = moment(1, datetime!(2026-03-14 12:00 UTC), Precision::Day, filed);
        let morning = moment(2, datetime!(2026-03-14 08:00 UTC), Precision::Second, filed);
        let next = moment(3, datetime!(2026-03-15 00:00 UTC), Precision::Second, filed);
        assert!(!day.is_before(&morning) && !morning.is_before(&day));
        assert!(day.is_before(&next));
        // What was told at ten of that day had happened by ten.
        let told = moment(4, datetime!(2026-03-14 12:00 UTC), Precision::Day, datetime!(2026-03-14 10:00 UTC));
        let eleven = moment(5, datetime!(2026-03-14 11:00 UTC), Precision::Second, datetime!(2026-03-14 11:00 UTC));
        assert!(told.is_before(&eleven));
    }

    proptest! {
        /// Being before is an order, and the sort key keeps it.
        #[test]
        fn the_order_is_one(
            all in proptest::collection::vec((0_i64..40, 0_u8..4, -4_i64..40, 0_i64..20), 3),
        ) {
            let start = datetime!(2026-03-14 00:00 UTC);
            let precision = [Precision::Second, Precision::Day, Precision::Month, Precision::Year];
            let moments: Vec<Moment> = (1..).zip(&all).map(|(number, (hours, how, later, open))| {
                let at = start + time::Duration::hours(*hours);
                let precision = precision[usize::from(*how)];
                let noted = moment(number, at, precision, at + time::Duration::hours((*later).max(0)));
                noted.noted_after(at - time::Duration::hours(*open))
            }).collect();
            for a in &moments {
                prop_assert!(!a.is_before(a));
                for b in &moments {
                    prop_assert!(!(a.is_before(b) && b.is_before(a)));
                    if a.is_before(b) {
                        prop_assert!(a.sort_key() < b.sort_key());
                    }
                    for c in &moments {
                        prop_assert!(!(a.is_before(b) && b.is_before(c)) || a.is_before(c), "{a:?} {b:?} {c:?}");
                    }
                }
            }
        }
    }
}
