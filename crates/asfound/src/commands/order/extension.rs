//! Files further terms of the open order.

use asfound_core::entry::{Body, OrderTerms, PlainReason};
use asfound_core::names::Tag;
use asfound_core::work_order::WorkOrder;

use super::terms::doubts_of;
use super::the_open;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{Filing, file};
use crate::screens::order::OrderFiled;
use crate::setup::{Session, TracedJournal, orders_of, reason};

/// Files what `terms` makes of the open order, as it is at the moment of filing.
pub(super) fn run(
    tag: &Tag,
    why: Option<&str>,
    session: &mut Session<'_>,
    terms: impl Fn(&TracedJournal, &WorkOrder) -> Result<OrderTerms, Failure>,
) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, tag)?;
    let order = the_open(tag, orders_of(&known.journal(), &known.index)?)?;
    terms(&known, &order)?;
    let plain = PlainReason::OrderExtended(order.number).to_string();
    let filing = Filing::new(session, &known.garage, reason(why, &plain)?)?;
    let filed = file(&known, &filing, |before| {
        let order = the_open(tag, orders_of(&known.journal(), &before.index)?)?;
        Ok(Body::OrderExtended(terms(&known, &order)?))
    })?;
    let Body::OrderExtended(terms) = &filed.entry.body else { return Ok(Exit::Done) };
    let meant = terms.put_right.iter().map(|corrected| corrected.meant.clone());
    let items: Vec<_> = terms.authorised.iter().cloned().chain(meant).collect();
    session.show(&OrderFiled::new(tag, &filed, doubts_of(&known, &items)))?;
    Ok(Exit::Done)
}
