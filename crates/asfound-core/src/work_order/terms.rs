//! What the terms of an order come to: agreed to, put right, withdrawn.

use crate::entry::{AuthorisedItem, CorrectedTerm, OrderTerms, TermSubject};
use crate::names::EntryNumber;

/// One thing that the customer agreed to, with all that became of that.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// What it is about.
    pub subject: TermSubject,
    /// What the customer said, in the order of filing; the last counts.
    pub said: Vec<TermEvent>,
}

/// What the customer said of one thing in one entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TermEvent {
    /// They agreed to it.
    Agreed(AgreedItem),
    /// They took it back, in this entry.
    Withdrawn(EntryNumber),
}

/// What was agreed to in one entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AgreedItem {
    /// The entry.
    pub entry: EntryNumber,
    /// What was agreed to.
    pub item: AuthorisedItem,
    /// How the term was written down first, where this entry put it right.
    pub first_written: Option<AuthorisedItem>,
}

impl TermEvent {
    /// The entry.
    pub fn entry(&self) -> EntryNumber {
        match self {
            Self::Agreed(agreed) => agreed.entry,
            Self::Withdrawn(entry) => *entry,
        }
    }
}

impl Term {
    /// What was agreed to last, whether or not it was taken back since.
    pub fn last_agreed(&self) -> Option<&AgreedItem> {
        self.said.iter().rev().find_map(|event| match event {
            TermEvent::Agreed(agreed) => Some(agreed),
            TermEvent::Withdrawn(_) => None,
        })
    }

    /// What is authorised, where the customer did not take it back.
    pub fn authorised(&self) -> Option<&AgreedItem> {
        self.last_agreed().filter(|_| self.withdrawn().is_none())
    }

    /// The entry in which the customer took it back.
    pub fn withdrawn(&self) -> Option<EntryNumber> {
        match self.said.last() {
            Some(TermEvent::Withdrawn(entry)) => Some(*entry),
            _ => None,
        }
    }
}

/// The terms of an order, by the order in which they were first agreed to.
///
/// What is put right or withdrawn without being in force is passed over: no command files that, and nothing follows from it.
pub(super) fn terms_of<'t>(filed: impl IntoIterator<Item = (EntryNumber, &'t OrderTerms)>) -> Vec<Term> {
    let mut terms: Vec<Term> = Vec::new();
    for (entry, filed) in filed {
        for CorrectedTerm { term, meant } in &filed.put_right {
            let in_force = terms.iter().position(|one| one.subject == *term && one.authorised().is_some());
            let Some(at) = in_force else { continue };
            let first_written = terms[at].last_agreed().map(|last| last.item.clone());
            if meant.subject() != *term {
                terms.remove(at);
            }
            say(
                &mut terms,
                meant.subject(),
                TermEvent::Agreed(AgreedItem { entry, item: meant.clone(), first_written }),
            );
        }
        for subject in &filed.withdrawn {
            if let Some(term) = terms.iter_mut().find(|one| one.subject == *subject && one.authorised().is_some()) {
                term.said.push(TermEvent::Withdrawn(entry));
            }
        }
        for item in &filed.authorised {
            let agreed = AgreedItem { entry, item: item.clone(), first_written: None };
            say(&mut terms, item.subject(), TermEvent::Agreed(agreed));
        }
    }
    terms
}

fn say(terms: &mut Vec<Term>, subject: TermSubject, event: TermEvent) {
    match terms.iter_mut().find(|term| term.subject == subject) {
        Some(term) => term.said.push(event),
        None => terms.push(Term { subject, said: vec![event] }),
    }
}
