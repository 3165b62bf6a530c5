//! `asfound order put-right`

use asfound_core::entry::{CorrectedTerm, OrderTerms};
use asfound_core::names::Tag;

use super::extension;
use super::terms::{Term, consent_of, item_of};
use super::withdraw::in_force;
use crate::arguments::Assignment;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::setup::Session;

/// Files that a term was written down wrongly.
pub(super) fn run(
    tag: &Tag,
    Term(term): &Term,
    meant: &Assignment,
    consent: &str,
    session: &mut Session<'_>,
) -> Result<Exit, Failure> {
    let consent = consent_of(consent)?;
    extension::run(tag, None, session, |known, order| {
        let wrong = in_force(order, term)?;
        let meant = item_of(known, meant)?;
        if wrong == meant {
            return Err(Failure::usage(format!("the term is `{wrong}` already")));
        }
        let taken = order.terms_in_force().into_iter().find_map(|other| {
            let differs = other.subject != *term && other.subject == meant.subject();
            other.authorised().filter(|_| differs).map(|agreed| (agreed.item.clone(), agreed.entry))
        });
        if let Some((other, entry)) = taken {
            return Err(Failure::usage(format!("`{other}` is agreed to already, in entry {entry}"))
                .hint(format!("asfound order withdraw {tag} {term} --consent TEXT")));
        }
        let put_right = vec![CorrectedTerm { term: term.clone(), meant }];
        Ok(OrderTerms { put_right, ..OrderTerms::new(order.number.clone(), consent.clone()) })
    })
}
