//! What is agreed to, as it was typed.

use std::str::FromStr;

use asfound_core::entry::{AuthorisedItem, OrderNumber, OrderTerms, Reason, TermSubject};
use asfound_core::work_order::{TermDoubt, check_term};

use super::TermsArgs;
use crate::arguments::{Assignment, AssignmentPlace};
use crate::failure::Failure;
use crate::parse_targets::value_of;
use crate::setup::TracedJournal;

/// A term of an order as it is typed: SETTING, MODULE:RECORD or MODULE.
#[derive(Debug, Clone)]
pub struct Term(pub TermSubject);

impl FromStr for Term {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        if !text.contains(['.', ':']) {
            let module = text.parse().map_err(|error| format!("{error}"))?;
            return Ok(Self(TermSubject::Unit { module }));
        }
        Ok(Self(match text.parse()? {
            AssignmentPlace::Setting(setting) => TermSubject::Setting { setting },
            AssignmentPlace::Record(module, record) => TermSubject::Record { module, record },
        }))
    }
}

/// Everything that is agreed to with one consent.
pub(super) fn terms_of(known: &TracedJournal, number: OrderNumber, args: &TermsArgs) -> Result<OrderTerms, Failure> {
    let authorised = authorised_of(known, args)?;
    let estimate = args.estimate.clone().map(Reason::try_from).transpose();
    let estimate = estimate
        .map_err(|_| Failure::usage("the estimate is blank, or holds control characters, which no entry can keep"))?;
    Ok(OrderTerms { estimate, authorised, ..OrderTerms::new(number, consent_of(&args.consent)?) })
}

/// The words of a consent.
pub(super) fn consent_of(text: &str) -> Result<Reason, Failure> {
    Reason::try_from(text.to_owned()).map_err(|_| {
        Failure::usage(if text.trim().is_empty() {
            "an order needs the customer's consent: who agreed, how and when"
        } else {
            "the consent holds control characters, which no entry can keep"
        })
    })
}

fn authorised_of(known: &TracedJournal, args: &TermsArgs) -> Result<Vec<AuthorisedItem>, Failure> {
    let mut authorised: Vec<AuthorisedItem> =
        args.authorise.iter().map(|assignment| item_of(known, assignment)).collect::<Result<_, _>>()?;
    authorised.extend(args.units.iter().map(|module| AuthorisedItem::Unit { module: module.clone() }));
    for (at, item) in authorised.iter().enumerate() {
        if authorised[..at].iter().any(|earlier| earlier.subject() == item.subject()) {
            return Err(Failure::usage(format!("`{item}` and an earlier authority are about the same thing")));
        }
    }
    Ok(authorised)
}

/// A setting with its value, or a record with its bytes.
///
/// Of a module that was not read yet, the value is as the garage's definitions for such a module write it, where they agree.
pub(super) fn item_of(
    known: &TracedJournal,
    Assignment { place, text }: &Assignment,
) -> Result<AuthorisedItem, Failure> {
    match place {
        AssignmentPlace::Setting(path) => {
            let left = if known.state().module(&path.module).is_none() {
                let typed = AuthorisedItem::Setting { setting: path.clone(), left: text.clone() };
                let written = check_term(&typed, known.state(), &known.definitions).ok().flatten();
                written.unwrap_or_else(|| text.clone())
            } else {
                value_of(&known.history, &known.definitions, path, text, true)?.to_string()
            };
            Ok(AuthorisedItem::Setting { setting: path.clone(), left })
        }
        AssignmentPlace::Record(module, record) => {
            let left = text.parse().map_err(|error| Failure::usage(format!("{place}: {error}")))?;
            Ok(AuthorisedItem::Record { module: module.clone(), record: record.clone(), left })
        }
    }
}

/// What there is to doubt in terms.
pub(super) fn doubts_of(known: &TracedJournal, items: &[AuthorisedItem]) -> Vec<(AuthorisedItem, TermDoubt)> {
    let doubt = |item: &AuthorisedItem| check_term(item, known.state(), &known.definitions).err();
    items.iter().filter_map(|item| Some((item.clone(), doubt(item)?))).collect()
}
