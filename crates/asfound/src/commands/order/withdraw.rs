//! `asfound order withdraw`

use asfound_core::document::nearest_name;
use asfound_core::entry::{AuthorisedItem, OrderTerms, TermSubject};
use asfound_core::names::Tag;
use asfound_core::work_order::WorkOrder;

use super::extension;
use super::terms::{Term, consent_of};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::setup::Session;

/// Files that the customer no longer agrees to terms.
pub(super) fn run(tag: &Tag, terms: &[Term], consent: &str, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let consent = consent_of(consent)?;
    let mut withdrawn: Vec<TermSubject> = Vec::new();
    for Term(subject) in terms {
        if withdrawn.contains(subject) {
            return Err(Failure::usage(format!("{subject} is given twice")));
        }
        withdrawn.push(subject.clone());
    }
    extension::run(tag, None, session, |_, order| {
        withdrawn.iter().try_for_each(|subject| in_force(order, subject).map(drop))?;
        let withdrawn = withdrawn.clone();
        Ok(OrderTerms { withdrawn, ..OrderTerms::new(order.number.clone(), consent.clone()) })
    })
}

/// What is agreed to of one thing.
///
/// # Errors
/// When nothing is.
pub(super) fn in_force(order: &WorkOrder, subject: &TermSubject) -> Result<AuthorisedItem, Failure> {
    let terms = order.terms_in_force();
    let (number, opened) = (&order.number, order.opened);
    let agreed: Vec<(String, AuthorisedItem)> =
        terms.iter().filter_map(|term| Some((term.subject.to_string(), term.authorised()?.item.clone()))).collect();
    let wanted = subject.to_string();
    if let Some((_, item)) = agreed.iter().find(|(name, item)| *name == wanted && item.subject() == *subject) {
        return Ok(item.clone());
    }
    let withdrawn = terms.iter().find(|term| term.subject == *subject).and_then(|term| term.withdrawn());
    let failure = Failure::usage(match withdrawn {
        Some(entry) => format!("{subject} was withdrawn in entry {entry}"),
        None => format!("order {number} (entry {opened}) has no term for {subject}"),
    });
    let names = || agreed.iter().map(|(name, _)| name.as_str());
    Err(match nearest_name(&wanted, names()) {
        Some(near) => failure.hint(format!("did you mean `{near}`?")),
        None if agreed.is_empty() => failure.hint("nothing is agreed to in it"),
        None => failure.hint(format!("it has {}", names().collect::<Vec<_>>().join(", "))),
    })
}
