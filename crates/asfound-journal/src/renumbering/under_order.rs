//! Whether an entry stands under the work order under which it was filed.

use asfound_core::entry::{Body, Entry};
use asfound_core::work_order::{open_order, orders};

use super::counterparts::Counterparts;
use super::move_entry::Obstacle;
use crate::journal::FiledEntry;

/// That the entry `line[at]` has to do with the same work order behind `before` as it had where it stood.
///
/// Notes and readings say what they say whatever order is open. Work must not slip out of the order that it was done under, and an
/// order is not closed over work that whoever closed it had not seen: its closing was refused if that had no authority.
pub(crate) fn stands(
    line: &[FiledEntry],
    at: usize,
    before: &[FiledEntry],
    counterparts: &Counterparts,
) -> Result<(), Obstacle> {
    let body = &line[at].entry.body;
    match body {
        Body::OrderOpened(terms) => {
            match orders(entries(before))
                .into_iter()
                .find(|order| order.closed.is_none() || order.number == terms.number)
            {
                Some(order) => Err(Obstacle::OrderThere { number: order.number, by: order.opened }),
                None => Ok(()),
            }
        }
        Body::Change(_) | Body::PutBack(..) | Body::OrderExtended(_) | Body::OrderClosed(_) => {
            let Some(order) = open_order(entries(&line[..at])) else { return Ok(()) };
            if open_order(entries(before)).is_none_or(|open| open.number != order.number) {
                let closed = orders(entries(before)).into_iter().find(|there| there.number == order.number);
                let by = closed.and_then(|closed| closed.closed);
                return Err(Obstacle::OrderClosed { number: order.number, by });
            }
            let unseen = || counterparts.strangers(at, before).find(|filed| filed.entry.body.effects().is_some());
            match body {
                Body::OrderClosed(_) => unseen().map_or(Ok(()), |filed| {
                    Err(Obstacle::ClosedUnseen { number: order.number, by: filed.entry.number })
                }),
                _ => Ok(()),
            }
        }
        Body::Enrolled(_) | Body::Reading(_) | Body::Correction(_) | Body::Note(_) | Body::Witness(_) => Ok(()),
    }
}

fn entries(line: &[FiledEntry]) -> impl Iterator<Item = &Entry> {
    line.iter().map(|filed| &filed.entry)
}
