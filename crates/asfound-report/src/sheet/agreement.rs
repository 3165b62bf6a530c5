//! What was asked for and agreed.

use std::collections::BTreeMap;

use asfound_core::entry::{AuthorisedItem as Item, Body, Entry, PlainReason};
use asfound_core::names::EntryNumber;
use asfound_core::work_order::{Term, WorkOrder};
use serde::Serialize;
use time::OffsetDateTime;

/// What the customer asked for and agreed to, as a work order has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Agreement {
    /// The number of the work order.
    pub order: String,
    /// What was asked for, in the words of the order; nothing where nobody said.
    pub asked: Option<String>,
    /// What was authorised.
    pub authorised: Vec<AuthorisedShown>,
    /// The consents, in their order.
    pub consents: Vec<Consent>,
}

/// One piece of work that was authorised.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AuthorisedShown {
    /// The setting, `body.lane_change_flashes`; a record, `body:0D01`; or a module.
    pub field: String,
    /// The value or the bytes that were agreed; nothing for a module, which becomes another unit or gets other software.
    pub value: Option<String>,
    /// How it was written down first, where it was put right.
    pub first_written: Option<String>,
    /// The entry in which the customer took it back.
    pub withdrawn: Option<EntryNumber>,
}

/// A consent: by whom and in what way, in one line, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Consent {
    /// The entry.
    pub entry: EntryNumber,
    /// Who consented, and how.
    pub words: String,
    /// The estimate that was agreed to with it.
    pub estimate: Option<String>,
    /// When.
    #[serde(with = "time::serde::rfc3339::option")]
    pub at: Option<OffsetDateTime>,
}

/// What the entries that opened and extended an order tell of it.
#[derive(Debug, Clone, Default)]
pub(super) struct AgreementBuilder {
    asked: Option<String>,
    at: BTreeMap<EntryNumber, OffsetDateTime>,
}

impl AgreementBuilder {
    /// Takes in the next entry.
    pub(super) fn push(&mut self, order: &WorkOrder, entry: &Entry) {
        if entry.number == order.opened && PlainReason::of(&entry.body, entry.why.as_str()).is_none() {
            self.asked = Some(entry.why.as_str().to_owned());
        }
        if matches!(entry.body, Body::OrderOpened(_) | Body::OrderExtended(_)) {
            self.at.insert(entry.number, entry.happened);
        }
    }

    /// The agreement of the order.
    pub(super) fn finish(self, order: &WorkOrder) -> Agreement {
        let consents = order.terms.iter().map(|(number, terms)| Consent {
            entry: *number,
            words: terms.consent.as_str().to_owned(),
            estimate: terms.estimate.as_ref().map(|estimate| estimate.as_str().to_owned()),
            at: self.at.get(number).copied(),
        });
        Agreement {
            order: order.number.to_string(),
            authorised: order.terms_in_force().iter().filter_map(AuthorisedShown::of).collect(),
            consents: consents.collect(),
            asked: self.asked,
        }
    }
}

impl AuthorisedShown {
    fn of(term: &Term) -> Option<Self> {
        let agreed = term.last_agreed()?;
        Some(Self {
            field: term.subject.to_string(),
            value: agreed.item.value(),
            first_written: agreed.first_written.as_ref().map(Item::to_string),
            withdrawn: term.withdrawn(),
        })
    }
}
