//! What was authorised, against what was done.

use std::collections::{BTreeMap, BTreeSet};

use super::outcome_rules::OutcomeRules;
use super::{OrderOutcome, WorkOrder};
use crate::definition::DefinitionSet;
use crate::entry::{Body, Entry, IdentityEffect, Moment, ReadingRole, RecordEffect, TermSubject};
use crate::history::{History, OpenStep};
use crate::moment::StatedTime;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::state::{InvalidEffect, State};
use crate::value::HexBytes;

/// Holds what was authorised against what was done in the entries of an order.
///
/// `entries` and `history` are those of the whole journal; [`OutcomeBuilder`] is the same for entries that are not all at hand.
///
/// # Errors
/// When the entries do not follow from each other.
pub fn outcome<'e>(
    order: &WorkOrder,
    entries: impl IntoIterator<Item = &'e Entry>,
    history: &History,
    definitions: &DefinitionSet,
) -> Result<OrderOutcome, InvalidEffect> {
    let mut outcomes = OutcomeBuilder::of(vec![order.clone()]);
    entries.into_iter().try_for_each(|entry| outcomes.push(entry))?;
    Ok(outcomes.finish(history, definitions).pop().map(|(_, outcome)| outcome).unwrap_or_default())
}

/// What of a journal's entries the outcomes of its orders follow from, taken in one entry after the other.
///
/// What is compared ends with the closing of an order; levels of proof come from the whole journal. What was done is judged by
/// what is left of it: work that a later entry of the same order took back is done without authority no longer.
#[derive(Debug, Clone)]
pub struct OutcomeBuilder {
    state: State,
    /// By their opening.
    orders: Vec<OrderState>,
}

/// One order, and what its entries tell beside the life of each field.
#[derive(Debug, Clone)]
struct OrderState {
    order: WorkOrder,
    /// The records that were authorised as a whole, those withdrawn since too.
    records: Vec<WholeRecord>,
    /// What the readings of the order say of modules that became other units or got other software.
    renewed: Vec<(EntryNumber, IdentityEffect)>,
    /// Records that were written without anybody knowing what was in them.
    blind: Vec<(EntryNumber, RecordEffect)>,
    /// When what its entries tell of happened.
    moments: BTreeMap<EntryNumber, Moment>,
    last_work: Option<EntryNumber>,
    /// The last reading as left.
    as_left: Option<EntryNumber>,
}

/// A record that was authorised as a whole, with what it held before the order and what it holds in the end.
#[derive(Debug, Clone)]
pub(super) struct WholeRecord {
    pub(super) module: ModuleName,
    pub(super) record: RecordName,
    pub(super) found: Option<HexBytes>,
    pub(super) left: Option<HexBytes>,
}

impl OutcomeBuilder {
    /// Before the first entry; `orders` are orders of the journal.
    pub fn of(orders: Vec<WorkOrder>) -> Self {
        let mut orders: Vec<OrderState> = orders.into_iter().map(OrderState::of).collect();
        orders.sort_by_key(|one| one.order.opened);
        Self { state: State::default(), orders }
    }

    /// Takes in the next entry.
    ///
    /// # Errors
    /// When it does not follow from those before.
    pub fn push(&mut self, entry: &Entry) -> Result<(), InvalidEffect> {
        self.state.apply(entry)?;
        // One order is open at a time.
        let before = self.orders.partition_point(|one| one.order.opened <= entry.number);
        let holds = |one: &&mut OrderState| one.order.holds(entry.number);
        if let Some(one) = self.orders[..before].last_mut().filter(holds) {
            one.push(entry, &self.state);
        }
        if let Body::Correction(correction) = &entry.body
            && let Some(at) = correction.happened
        {
            let happened = StatedTime { at, precision: correction.precision };
            // A consent tells of its filing: what is agreed to later is never made to be agreed to before.
            let terms = |one: &OrderState| one.order.terms.iter().any(|(entry, _)| *entry == correction.corrects);
            for one in self.orders[..before].iter_mut().filter(|one| !terms(one)) {
                one.moments.entry(correction.corrects).and_modify(|moment| *moment = moment.corrected(happened));
            }
        }
        Ok(())
    }

    /// The orders with what they come to; `history` is that of the same entries, by the same definitions.
    pub fn finish(mut self, history: &History, definitions: &DefinitionSet) -> Vec<(WorkOrder, OrderOutcome)> {
        for one in self.orders.iter_mut().filter(|one| one.order.closed.is_none()) {
            one.look_at_what_is_left(&self.state);
        }
        self.orders
            .into_iter()
            .map(|one| {
                let outcome = one.outcome(history, definitions);
                (one.order, outcome)
            })
            .collect()
    }
}

impl OrderState {
    fn of(order: WorkOrder) -> Self {
        let records = order.terms_in_force().into_iter().filter_map(|term| match term.subject {
            TermSubject::Record { module, record } => Some(WholeRecord { module, record, found: None, left: None }),
            _ => None,
        });
        let (records, moments) = (records.collect(), BTreeMap::new());
        Self { order, records, renewed: Vec::new(), blind: Vec::new(), moments, last_work: None, as_left: None }
    }

    fn push(&mut self, entry: &Entry, state: &State) {
        let number = entry.number;
        self.moments.insert(number, entry.moment());
        if number == self.order.opened {
            self.records.iter_mut().for_each(|one| one.found = one.in_state(state));
        } else if let Body::Reading(reading) = &entry.body {
            let effects = reading.effects.identities.iter().filter(|effect| effect.found.differs_from(&effect.left));
            self.renewed.extend(effects.map(|effect| (number, effect.clone())));
            if reading.role == ReadingRole::AsLeft {
                self.as_left = Some(number);
            }
        } else if let Some(work) = entry.body.work() {
            let effects = work.effects.records.iter().filter(|effect| effect.found.is_none());
            self.blind.extend(effects.map(|effect| (number, effect.clone())));
            self.last_work = Some(number);
        }
        if self.order.closed == Some(number) {
            self.look_at_what_is_left(state);
        }
    }

    fn look_at_what_is_left(&mut self, state: &State) {
        self.records.iter_mut().for_each(|one| one.left = one.in_state(state));
    }

    fn outcome(&self, history: &History, definitions: &DefinitionSet) -> OrderOutcome {
        let terms = self.order.terms_in_force();
        let (order, records, renewed, moments) = (&self.order, &self.records, &self.renewed, &self.moments);
        let covered = BTreeSet::new();
        let rules = OutcomeRules { order, history, definitions, terms: &terms, records, renewed, moments, covered };
        let mut lines = rules.lines(&self.blind);
        lines.sort_by(|a, b| (a.verdict.group(), &a.what).cmp(&(b.verdict.group(), &b.what)));
        let until_closed = |step: &&OpenStep| self.order.closed.is_none_or(|closed| step.entry < closed);
        let open_steps = history.open_steps().open().filter(until_closed).cloned().collect();
        OrderOutcome { lines, read_after_work: self.last_work.is_none_or(|work| self.as_left > Some(work)), open_steps }
    }
}

impl WholeRecord {
    fn in_state(&self, state: &State) -> Option<HexBytes> {
        state.record(&self.module, &self.record).map(|known| known.bytes.clone())
    }
}
