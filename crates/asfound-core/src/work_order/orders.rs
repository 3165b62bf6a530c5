//! The orders of a journal.

use time::OffsetDateTime;

use super::Term;
use super::terms::terms_of;
use crate::entry::{Body, Entry, OrderNumber, OrderTerms};
use crate::names::EntryNumber;

/// One order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkOrder {
    /// Its number.
    pub number: OrderNumber,
    /// The entry that opened it.
    pub opened: EntryNumber,
    /// What was agreed to, and in which entry: at the opening, then in each extension.
    pub terms: Vec<(EntryNumber, OrderTerms)>,
    /// When that was.
    pub opened_at: OffsetDateTime,
    /// The entry that closed it.
    pub closed: Option<EntryNumber>,
    /// When that was.
    pub closed_at: Option<OffsetDateTime>,
}

impl WorkOrder {
    /// Whether an entry belongs to it.
    pub fn holds(&self, entry: EntryNumber) -> bool {
        entry >= self.opened && self.closed.is_none_or(|closed| entry <= closed)
    }

    /// The same without the terms that these entries hold.
    #[must_use]
    pub fn without(&self, entries: &[EntryNumber]) -> Self {
        let terms = self.terms.iter().filter(|(entry, _)| !entries.contains(entry)).cloned().collect();
        Self { terms, ..self.clone() }
    }

    /// What was agreed to, put right and withdrawn comes to: one term for each thing, in the order of the first consents.
    pub fn terms_in_force(&self) -> Vec<Term> {
        terms_of(self.terms.iter().map(|(entry, terms)| (*entry, terms)))
    }
}

/// The orders of a journal, in the order of their opening.
///
/// At most one is open at a time. An extension or a closing that does not fit the open order is passed over: no command files
/// one, and nothing follows from it.
pub fn orders<'e>(entries: impl IntoIterator<Item = &'e Entry>) -> Vec<WorkOrder> {
    let mut orders = WorkOrders::default();
    entries.into_iter().for_each(|entry| orders.push(entry));
    orders.finish()
}

/// The orders of a journal whose entries are taken in one after the other.
#[derive(Debug, Clone, Default)]
pub struct WorkOrders(Vec<WorkOrder>);

impl WorkOrders {
    /// Takes in the next entry.
    pub fn push(&mut self, entry: &Entry) {
        let orders = &mut self.0;
        let open = orders.last_mut().filter(|order| order.closed.is_none());
        match (&entry.body, open) {
            (Body::OrderOpened(terms), None) => orders.push(WorkOrder {
                number: terms.number.clone(),
                opened: entry.number,
                opened_at: entry.happened,
                terms: vec![(entry.number, terms.clone())],
                closed: None,
                closed_at: None,
            }),
            (Body::OrderExtended(terms), Some(order)) if order.number == terms.number => {
                order.terms.push((entry.number, terms.clone()));
            }
            (Body::OrderClosed(number), Some(order)) if order.number == *number => {
                (order.closed, order.closed_at) = (Some(entry.number), Some(entry.happened));
            }
            _ => {}
        }
    }

    /// The orders, as [`orders`] has them.
    pub fn finish(self) -> Vec<WorkOrder> {
        self.0
    }
}

/// The order that is open.
pub fn open_order<'e>(entries: impl IntoIterator<Item = &'e Entry>) -> Option<WorkOrder> {
    orders(entries).pop().filter(|order| order.closed.is_none())
}
