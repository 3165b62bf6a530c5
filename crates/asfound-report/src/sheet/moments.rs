//! Between which two moments a sheet speaks.

use asfound_core::entry::{Body, Entry, ReadingRole};
use asfound_core::names::EntryNumber;
use asfound_core::work_order::WorkOrder;
use thiserror::Error;

/// Why there are no two moments to compare.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MomentsError {
    /// The journal has no entry of that number.
    #[error("there is no entry {0}")]
    NoEntry(EntryNumber),
    /// The second moment is not after the first.
    #[error("entry {to} does not come after entry {from}")]
    Order {
        /// The first moment.
        from: EntryNumber,
        /// The second.
        to: EntryNumber,
    },
    /// Nothing was ever read.
    #[error("no reading was filed, so nothing can be said of what was found and left")]
    NothingRead,
}

/// What of a journal's entries the two moments follow from, taken in one entry after the other.
#[derive(Debug, Clone, Default)]
pub struct MomentsBuilder {
    readings: Vec<(EntryNumber, ReadingRole)>,
    /// Work and corrections, and which of the two.
    altering: Vec<(EntryNumber, Altering)>,
    last: Option<EntryNumber>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Altering {
    Work,
    Correction,
}

impl MomentsBuilder {
    /// Takes in the next entry.
    pub fn push(&mut self, entry: &Entry) {
        self.last = Some(entry.number);
        match &entry.body {
            Body::Reading(reading) => self.readings.push((entry.number, reading.role)),
            Body::Change(_) | Body::PutBack(..) => self.altering.push((entry.number, Altering::Work)),
            Body::Correction(_) => self.altering.push((entry.number, Altering::Correction)),
            _ => {}
        }
    }

    /// The last entry.
    pub fn last(&self) -> Option<EntryNumber> {
        self.last
    }

    /// The last reading as found.
    pub fn last_as_found(&self) -> Option<EntryNumber> {
        self.readings().rfind(|(_, role)| *role == ReadingRole::AsFound).map(|(number, _)| number)
    }

    fn readings(&self) -> impl DoubleEndedIterator<Item = (EntryNumber, ReadingRole)> {
        self.readings.iter().copied()
    }
}

/// What a sheet is about.
#[derive(Debug, Clone)]
pub enum SheetSubject {
    /// One work order, which says between which moments it speaks.
    Order(WorkOrder),
    /// What lies between two moments, judged by the work orders that it belongs to.
    Between {
        /// The first moment, where it is not the last reading as found.
        from: Option<EntryNumber>,
        /// The second moment, where it is not the last reading as left.
        to: Option<EntryNumber>,
        /// All orders of the journal.
        orders: Vec<WorkOrder>,
    },
}

impl SheetSubject {
    /// The two moments.
    ///
    /// # Errors
    /// When there are none.
    pub fn moments(&self, outline: &MomentsBuilder) -> Result<(EntryNumber, EntryNumber), MomentsError> {
        match self {
            Self::Order(order) => of_order(outline, order.opened, order.closed),
            Self::Between { from, to, .. } => between(outline, *from, *to),
        }
    }

    /// The orders by which what lies between the moments is judged, each as it was at the second.
    pub(super) fn orders(&self, from: EntryNumber, to: EntryNumber) -> Vec<WorkOrder> {
        match self {
            Self::Order(order) => vec![order.clone()],
            Self::Between { orders, .. } => {
                let covers = |order: &&WorkOrder| order.opened <= to && order.closed.is_none_or(|closed| closed > from);
                let until = |order: &WorkOrder| {
                    let closed = order.closed.map_or(to, |closed| closed.min(to));
                    WorkOrder { closed: Some(closed), ..order.clone() }
                };
                orders.iter().filter(covers).map(until).collect()
            }
        }
    }
}

/// The two moments of an order that was opened in one entry and, where it is closed, closed in another.
///
/// The first is the last reading as found within the order, before its first work; else the last reading of any kind before that
/// work, where no other work came between; else the opening itself: what was done before the order is none of its business.
/// The second is the last reading as left after its last work, else the order's last entry.
///
/// # Errors
/// When nothing was read before the work.
fn of_order(
    outline: &MomentsBuilder,
    opened: EntryNumber,
    closed: Option<EntryNumber>,
) -> Result<(EntryNumber, EntryNumber), MomentsError> {
    let end = closed.or(outline.last).unwrap_or(opened);
    let within =
        |(number, what): &&(EntryNumber, Altering)| *what == Altering::Work && opened < *number && *number <= end;
    let mut work = outline.altering.iter().filter(within).map(|(number, _)| *number);
    let first = work.next();
    let last = work.next_back().or(first);
    let before = || outline.readings().filter(|(number, _)| *number < first.unwrap_or(end));
    let as_found = before().rfind(|(number, role)| *role == ReadingRole::AsFound && *number > opened);
    let (found, _) = as_found.or_else(|| before().next_back()).ok_or(MomentsError::NothingRead)?;
    let altered = outline.altering.iter().any(|(number, _)| found < *number && *number < opened);
    let from = if altered { opened } else { found };
    let after = last.unwrap_or(from).max(from);
    let as_left =
        |(number, role): &(EntryNumber, ReadingRole)| *role == ReadingRole::AsLeft && *number > after && *number <= end;
    let to = outline.readings().rfind(as_left).map_or(end, |(number, _)| number);
    if to <= from { Err(MomentsError::Order { from, to }) } else { Ok((from, to)) }
}

/// The two moments: the last reading as found, and the last reading as left after it.
///
/// Where none was filed as found, the first reading stands in. Where none was filed as left after it, the last entry does, and
/// the sheet says so. `from` and `to` set either.
///
/// # Errors
/// When there are no such entries, nothing was read, or the second is not after the first.
fn between(
    outline: &MomentsBuilder,
    from: Option<EntryNumber>,
    to: Option<EntryNumber>,
) -> Result<(EntryNumber, EntryNumber), MomentsError> {
    let last = outline.last.unwrap_or(EntryNumber::FIRST);
    if let Some(missing) = [from, to].into_iter().flatten().find(|number| *number > last) {
        return Err(MomentsError::NoEntry(missing));
    }
    let until = to.unwrap_or(last);
    let readings = || outline.readings().filter(|(number, _)| *number <= until);
    let found = || readings().filter(|(_, role)| *role == ReadingRole::AsFound).map(|(number, _)| number).next_back();
    let from = from.or_else(found).or_else(|| readings().next().map(|(number, _)| number));
    let from = from.ok_or(MomentsError::NothingRead)?;
    let left = || {
        let after = readings().filter(|(number, role)| *role == ReadingRole::AsLeft && *number > from);
        after.map(|(number, _)| number).next_back()
    };
    let to = to.or_else(left).unwrap_or(last);
    if to <= from { Err(MomentsError::Order { from, to }) } else { Ok((from, to)) }
}
