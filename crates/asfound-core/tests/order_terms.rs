//! What an order's terms mean: agreed twice, closed by another number, read by a definition that became better.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{AuthorisedItem, Body, CorrectedTerm, OrderTerms, Reason, TermSubject};
use asfound_core::history::{Doubt, History};
use asfound_core::names::EntryNumber;
use asfound_core::work_order::{HowDone, OrderOutcome, OrderVerdict, orders, outcome};
use support::*;

fn terms(number: &str, authorised: &[(&str, &str)]) -> OrderTerms {
    OrderTerms {
        authorised: authorised
            .iter()
            .map(|(setting, left)| AuthorisedItem::Setting { setting: path(setting), left: (*left).to_owned() })
            .collect(),
        ..OrderTerms::new(number.parse().unwrap(), Reason::try_from("owner, at the desk".to_owned()).unwrap())
    }
}

fn opened(number: &str, authorised: &[(&str, &str)]) -> Journal {
    let mut journal = Journal::new([BODY_1]);
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0"));
    journal.file(Body::OrderOpened(terms(number, authorised)));
    journal
}

fn comes_to(journal: &Journal, definitions: &DefinitionSet) -> OrderOutcome {
    let order = orders(&journal.entries).pop().unwrap();
    let history = History::trace(&journal.entries, definitions).unwrap();
    outcome(&order, &journal.entries, &history, definitions).unwrap()
}

fn verdicts(journal: &Journal, definitions: &DefinitionSet) -> Vec<(String, OrderVerdict)> {
    let lines = comes_to(journal, definitions).lines;
    lines.into_iter().map(|line| (line.what.to_string(), line.verdict)).collect()
}

#[test]
fn of_a_setting_that_was_agreed_to_twice_the_later_value_counts() {
    let mut journal = opened("7", &[("body.flashes", "5")]);
    journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "4")])));
    journal.change(&[("body.flashes", "4")]);
    let told = verdicts(&journal, &journal.definitions);
    assert!(matches!(&told[..], [(what, OrderVerdict::Done(_))] if what == "body.flashes"), "{told:?}");

    let mut journal = opened("7", &[("body.flashes", "5")]);
    journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "4")])));
    journal.change(&[("body.flashes", "5")]);
    let told = verdicts(&journal, &journal.definitions);
    assert!(told.iter().any(|(_, verdict)| matches!(verdict, OrderVerdict::WithoutAuthority { .. })), "{told:?}");
    assert!(told.iter().any(|(_, verdict)| *verdict == OrderVerdict::NotDone), "{told:?}");
}

#[test]
fn closing_one_order_closes_no_other() {
    let mut journal = opened("7", &[("body.flashes", "5")]);
    journal.file(Body::OrderClosed("8".parse().unwrap()));
    assert_eq!(orders(&journal.entries)[0].closed, None);
    // Nor is it extended by another's terms.
    journal.file(Body::OrderExtended(terms("8", &[("body.fold", "on")])));
    assert_eq!(orders(&journal.entries)[0].terms.len(), 1);
    // Behind one that is closed another may be opened, and only that one is open.
    journal.file(Body::OrderClosed("7".parse().unwrap()));
    let opened = journal.file(Body::OrderOpened(terms("8", &[("body.fold", "on")])));
    journal.file(Body::OrderClosed("7".parse().unwrap()));
    let all = orders(&journal.entries);
    assert_eq!((all[0].closed.map(|number| number.get()), all[1].opened, all[1].closed), (Some(6), opened, None));
}

/// A definition that becomes better says of a closed order what it said before, or that nobody can tell; it accuses nobody.
#[test]
fn a_definition_that_renames_a_choice_accuses_nobody_of_work_without_authority() {
    let mut journal = opened("7", &[("body.fade", "slow")]);
    journal.change(&[("body.fade", "slow")]);
    journal.file(Body::OrderClosed("7".parse().unwrap()));
    let before = verdicts(&journal, &journal.definitions);
    assert!(matches!(&before[..], [(_, OrderVerdict::Done(_))]), "{before:?}");

    for renamed in [BODY_1.replace("slow = 6", "gentle = 6"), BODY_1.replace("slow = 6", "\"Slow fade\" = 6")] {
        let mut better = DefinitionSet::new();
        better.add(Definition::parse(&renamed).unwrap().definition).unwrap();
        let after = verdicts(&journal, &better);
        assert!(
            after.iter().all(|(_, verdict)| matches!(verdict, OrderVerdict::Done(_) | OrderVerdict::CannotTell { .. })),
            "{after:?}"
        );
    }
    // A definition that says that it is another value does not absolve either: what was agreed to is not what is there.
    let other = BODY_1.replace("short = 1, long", "slow = 1, long").replace("slow = 6", "gentle = 6");
    let mut turned = DefinitionSet::new();
    turned.add(Definition::parse(&other).unwrap().definition).unwrap();
    let after = verdicts(&journal, &turned);
    assert!(!after.iter().any(|(_, verdict)| matches!(verdict, OrderVerdict::Done(_))), "{after:?}");
}

fn number(entry: u32) -> EntryNumber {
    EntryNumber::new(entry).unwrap()
}

/// An extension that only says what is put right and what is withdrawn.
fn said_later(put_right: &[(&str, &str, &str)], withdrawn: &[&str]) -> Body {
    let subject = |setting: &str| TermSubject::Setting { setting: path(setting) };
    let meant = |setting: &str, left: &str| AuthorisedItem::Setting { setting: path(setting), left: left.to_owned() };
    Body::OrderExtended(OrderTerms {
        put_right: put_right
            .iter()
            .map(|(term, setting, left)| CorrectedTerm { term: subject(term), meant: meant(setting, left) })
            .collect(),
        withdrawn: withdrawn.iter().map(|setting| subject(setting)).collect(),
        ..terms("7", &[])
    })
}

fn only(journal: &Journal) -> (String, OrderVerdict) {
    let mut told = verdicts(journal, &journal.definitions);
    assert_eq!(told.len(), 1, "{told:?}");
    told.remove(0)
}

#[test]
fn what_was_agreed_to_after_the_work_is_told_apart() {
    let mut journal = opened("7", &[]);
    let work = number(journal.change(&[("body.flashes", "5")]));
    assert!(matches!(only(&journal).1, OrderVerdict::WithoutAuthority { .. }));
    let consent = journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "5")])));
    let (what, verdict) = only(&journal);
    let OrderVerdict::AgreedAfterwards { how: HowDone::Recorded { entry, .. }, consent: told } = verdict else {
        panic!("{verdict:?}")
    };
    assert_eq!((what.as_str(), entry, told), ("body.flashes", work, consent));
    assert!(!comes_to(&journal, &journal.definitions).blocks());

    // Who agreed before the work and says so again has not agreed afterwards.
    let mut journal = opened("7", &[("body.flashes", "5")]);
    journal.change(&[("body.flashes", "5")]);
    journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "5")])));
    assert!(matches!(only(&journal).1, OrderVerdict::Done(HowDone::Recorded { .. })));

    // What was agreed to at the time of the work counts, not what was agreed to once.
    let mut journal = opened("7", &[("body.flashes", "5")]);
    journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "4")])));
    journal.change(&[("body.flashes", "5")]);
    let again = journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "5")])));
    assert!(matches!(only(&journal).1, OrderVerdict::AgreedAfterwards { consent, .. } if consent == again));
}

#[test]
fn what_a_reading_shows_before_the_consent_was_agreed_to_afterwards() {
    let mut journal = opened("7", &[]);
    journal.read(reading().module("body").software("0100").record("0D01", "45 01 99 44").record("0D02", "03 A0"));
    let (what, verdict) = only(&journal);
    assert!(matches!(verdict, OrderVerdict::AnotherHand { .. }), "{what} {verdict:?}");
    let left = comes_to(&journal, &journal.definitions).lines.remove(0).left.unwrap();
    let agreed = journal.file(Body::OrderExtended(terms("7", &[(&what, &left)])));
    let told = only(&journal).1;
    assert!(
        matches!(told, OrderVerdict::AgreedAfterwards { how: HowDone::Seen(_), consent } if consent == agreed),
        "{told:?}"
    );
}

#[test]
fn a_term_that_was_written_down_wrongly_is_put_right() {
    // Before the work it is as if it had been written down so.
    let mut journal = opened("7", &[("body.flahses", "5")]);
    journal.file(said_later(&[("body.flahses", "body.flashes", "5")], &[]));
    assert_eq!(only(&journal), ("body.flashes".to_owned(), OrderVerdict::NotDone));
    journal.change(&[("body.flashes", "5")]);
    assert!(matches!(only(&journal).1, OrderVerdict::Done(_)));
    let term = orders(&journal.entries)[0].terms_in_force().remove(0);
    let written = term.authorised().unwrap().first_written.clone().unwrap();
    assert_eq!(written.to_string(), "body.flahses = 5");

    // After the work anybody could have said so, which is told.
    let mut journal = opened("7", &[("body.flahses", "5")]);
    journal.change(&[("body.flashes", "5")]);
    let right = journal.file(said_later(&[("body.flahses", "body.flashes", "5")], &[]));
    assert!(matches!(only(&journal).1, OrderVerdict::AgreedAfterwards { consent, .. } if consent == right));

    // A value as well; and what is not a term has nothing to be put right.
    let mut journal = opened("7", &[("body.flashes", "3")]);
    journal.file(said_later(&[("body.flashes", "body.flashes", "5"), ("body.fold", "body.fold", "on")], &[]));
    journal.change(&[("body.flashes", "5")]);
    assert!(matches!(only(&journal).1, OrderVerdict::Done(_)));
}

#[test]
fn what_the_customer_took_back_is_neither_left_undone_nor_allowed() {
    let mut journal = opened("7", &[("body.flashes", "5")]);
    let withdrawn = journal.file(said_later(&[], &["body.flashes", "body.fold"]));
    assert_eq!(only(&journal).1, OrderVerdict::Withdrawn { withdrawn, done: None });
    // Work after that has no authority.
    journal.change(&[("body.flashes", "5")]);
    let told = verdicts(&journal, &journal.definitions);
    assert!(told.iter().any(|(_, verdict)| matches!(verdict, OrderVerdict::WithoutAuthority { .. })), "{told:?}");
    assert!(!told.iter().any(|(_, verdict)| matches!(verdict, OrderVerdict::Done(_))), "{told:?}");

    // Work before that had; it is told that it still stands, and it does not keep the order open.
    let mut journal = opened("7", &[("body.flashes", "5")]);
    let work = number(journal.change(&[("body.flashes", "5")]));
    let withdrawn = journal.file(said_later(&[], &["body.flashes"]));
    assert_eq!(only(&journal).1, OrderVerdict::Withdrawn { withdrawn, done: Some(work) });
    assert!(!comes_to(&journal, &journal.definitions).blocks());
    // Put back, nothing of it is left.
    journal.change(&[("body.flashes", "3")]);
    assert!(matches!(only(&journal).1, OrderVerdict::TakenBack { .. }));
    // Agreed to anew and done again, it is authorised.
    journal.file(Body::OrderExtended(terms("7", &[("body.flashes", "5")])));
    journal.change(&[("body.flashes", "5")]);
    assert!(matches!(only(&journal).1, OrderVerdict::Done(_)));
}

#[test]
fn a_record_and_a_module_are_withdrawn_too() {
    let record = TermSubject::Record { module: "body".parse().unwrap(), record: "0D01".parse().unwrap() };
    let unit = TermSubject::Unit { module: "body".parse().unwrap() };
    let agreed = |left: &str| OrderTerms {
        authorised: vec![
            AuthorisedItem::Record {
                module: "body".parse().unwrap(),
                record: "0D01".parse().unwrap(),
                left: hex(left),
            },
            AuthorisedItem::Unit { module: "body".parse().unwrap() },
        ],
        ..terms("7", &[])
    };
    let withdrawal = |list: &[&TermSubject]| {
        Body::OrderExtended(OrderTerms { withdrawn: list.iter().copied().cloned().collect(), ..terms("7", &[]) })
    };

    let mut journal = opened("7", &[]);
    journal.file(Body::OrderExtended(agreed("45 01 99 44")));
    let swap = |software: &str| {
        reading().module("body").software(software).record("0D01", "45 01 99 44").record("0D02", "03 A0")
    };
    let seen = number(journal.read(swap("0101")));
    let withdrawn = journal.file(withdrawal(&[&record, &unit]));
    let told = verdicts(&journal, &journal.definitions);
    let of_unit = ("body (the module itself)".to_owned(), OrderVerdict::Withdrawn { withdrawn, done: Some(seen) });
    assert!(told.contains(&of_unit), "{told:?}");

    // The same record of the same unit.
    let mut journal = opened("7", &[]);
    journal.file(Body::OrderExtended(agreed("45 01 99 44")));
    let seen = number(journal.read(swap("0100")));
    let withdrawn = journal.file(withdrawal(&[&record, &unit]));
    let told = verdicts(&journal, &journal.definitions);
    let of_record = ("body:0D01".to_owned(), OrderVerdict::Withdrawn { withdrawn, done: Some(seen) });
    let of_unit = ("body (the module itself)".to_owned(), OrderVerdict::Withdrawn { withdrawn, done: None });
    assert_eq!(told, [of_record, of_unit]);

    let mut journal = opened("7", &[]);
    journal.file(Body::OrderExtended(agreed("45 01 99 44")));
    let withdrawn = journal.file(withdrawal(&[&record, &unit]));
    let seen = number(journal.read(swap("0101")));
    let told = verdicts(&journal, &journal.definitions);
    assert!(
        told.iter().any(|(_, verdict)| matches!(verdict, OrderVerdict::AnotherHand { seen: at, .. } if *at == seen)),
        "{told:?}"
    );
    assert!(told.contains(&("body:0D01".to_owned(), OrderVerdict::Withdrawn { withdrawn, done: None })), "{told:?}");
}

/// What was agreed to in words that cannot be compared accuses nobody, withdrawn afterwards or not; what was taken back before
/// the work allows nothing, whatever its words.
#[test]
fn what_cannot_be_compared_accuses_nobody_when_it_is_withdrawn() {
    let mut journal = opened("7", &[("body.flashes", "as in the handbook")]);
    let work = number(journal.change(&[("body.flashes", "5")]));
    let cannot_tell = OrderVerdict::CannotTell { doubt: Doubt::Comparison, seen: work };
    assert_eq!(only(&journal).1, cannot_tell);
    let mut clear = Journal { entries: journal.entries.clone(), ..Journal::new([BODY_1]) };
    clear.file(Body::OrderExtended(terms("7", &[("body.flashes", "5")])));
    assert!(matches!(only(&clear).1, OrderVerdict::AgreedAfterwards { .. }));
    journal.file(said_later(&[], &["body.flashes"]));
    let told = verdicts(&journal, &journal.definitions);
    assert!(told.iter().any(|(_, verdict)| *verdict == cannot_tell), "{told:?}");
    assert!(!comes_to(&journal, &journal.definitions).blocks(), "{told:?}");

    let mut journal = opened("7", &[("body.flashes", "as in the handbook")]);
    journal.file(said_later(&[], &["body.flashes"]));
    journal.change(&[("body.flashes", "5")]);
    assert!(comes_to(&journal, &journal.definitions).blocks());
}
