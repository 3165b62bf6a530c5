//! What an order's terms mean: agreed twice, closed by another number, read by a definition that became better.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{AuthorisedItem, Body, OrderTerms, Reason};
use asfound_core::history::History;
use asfound_core::work_order::{OrderOutcome, OrderVerdict, orders, outcome};
use support::*;

fn terms(number: &str, authorised: &[(&str, &str)]) -> OrderTerms {
    OrderTerms {
        number: number.parse().unwrap(),
        consent: Reason::try_from("owner, at the desk".to_owned()).unwrap(),
        authorised: authorised
            .iter()
            .map(|(setting, left)| AuthorisedItem::Setting { setting: path(setting), left: (*left).to_owned() })
            .collect(),
        estimate: None,
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
