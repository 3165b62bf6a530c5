//! Work orders: what was authorised, against what was done, down to bits that no definition names.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use std::collections::BTreeMap;

use asfound_core::entry::{AuthorisedItem, Body, OrderTerms, Reason};
use asfound_core::work_order::{HowDone, LineGroup, OrderOutcome, OrderVerdict, orders, outcome};
use proptest::prelude::*;
use support::*;

fn terms(authorised: &[(&str, &str)]) -> OrderTerms {
    let item = |(place, left): &(&str, &str)| match (place.split_once(':'), *left) {
        (Some((module, record)), left) => {
            AuthorisedItem::Record { module: module.parse().unwrap(), record: record.parse().unwrap(), left: hex(left) }
        }
        (None, "unit") => AuthorisedItem::Unit { module: place.parse().unwrap() },
        (None, left) => AuthorisedItem::Setting { setting: path(place), left: left.to_owned() },
    };
    OrderTerms {
        authorised: authorised.iter().map(item).collect(),
        ..OrderTerms::new("7".parse().unwrap(), Reason::try_from("owner, at the desk".to_owned()).unwrap())
    }
}

fn body(record: &str) -> Said {
    reading().module("body").software("0100").record("0D01", record).record("0D02", "03 A0")
}

/// A journal with a reading (entry 2) and an open order (entry 3).
fn opened(authorised: &[(&str, &str)]) -> Journal {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(body("43 01 99 44"));
    journal.file(Body::OrderOpened(terms(authorised)));
    journal
}

fn comes_to(journal: &Journal) -> OrderOutcome {
    let order = orders(&journal.entries).pop().unwrap();
    outcome(&order, &journal.entries, &journal.history(), &journal.definitions).unwrap()
}

/// Each line as `group: what found -> left`.
fn lines(journal: &Journal) -> Vec<String> {
    let shown = |text: &Option<String>| text.clone().unwrap_or_else(|| "?".to_owned());
    let line = |line: &asfound_core::work_order::OutcomeLine| {
        format!("{}: {} {} -> {}", line.verdict.group(), line.what, shown(&line.found), shown(&line.left))
    };
    comes_to(journal).lines.iter().map(line).collect()
}

#[test]
fn what_was_ordered_and_done_is_told_apart_from_what_was_not() {
    let mut journal = opened(&[("body.flashes", "5"), ("body.fade", "slow"), ("body.speed", "15 km/h")]);
    journal.change(&[("body.flashes", "5")]);
    journal.change(&[("body.fold", "on")]);
    assert_eq!(
        lines(&journal),
        [
            "authorised and done: body.flashes 3 -> 5",
            // It was so already.
            "authorised and done: body.speed 15 km/h -> 15 km/h",
            "authorised, not done: body.fade short -> short",
            "done without authority: body.fold off -> on",
        ]
    );
    let outcome = comes_to(&journal);
    assert!(outcome.blocks());
    let doing: Vec<OrderVerdict> = outcome.of(LineGroup::Done).map(|line| line.verdict).collect();
    assert!(
        matches!(doing[..], [OrderVerdict::Done(HowDone::Recorded { .. }), OrderVerdict::Done(HowDone::WasSo)]),
        "{doing:?}"
    );
}

#[test]
fn consent_or_putting_back_lifts_the_block() {
    let mut journal = opened(&[]);
    let change = journal.change(&[("body.fold", "on")]);
    assert!(comes_to(&journal).blocks());
    let mut consented = Journal { entries: journal.entries.clone(), ..Journal::new([BODY_1, BODY_2]) };
    consented.file(Body::OrderExtended(terms(&[("body.fold", "on")])));
    assert_eq!(lines(&consented), ["done, agreed to afterwards: body.fold off -> on"]);
    journal.put_back(&[change]).unwrap();
    assert_eq!(lines(&journal), ["altered and taken back: body.fold off -> off"]);
    assert!(!comes_to(&journal).blocks());
}

#[test]
fn another_value_than_the_authorised_one_is_both_not_done_and_without_authority() {
    let mut journal = opened(&[("body.flashes", "5")]);
    journal.change(&[("body.flashes", "4")]);
    assert_eq!(
        lines(&journal),
        ["authorised, not done: body.flashes 3 -> 4", "done without authority: body.flashes 3 -> 4"]
    );
    journal.change(&[("body.flashes", "5")]);
    assert_eq!(lines(&journal), ["authorised and done: body.flashes 3 -> 5"]);
}

/// Bits 4 to 7 of byte 0 are named by nobody; byte 2 changes by itself, byte 3 is a checksum.
#[test]
fn bits_that_no_definition_names_need_authority_too() {
    let mut journal = opened(&[("body.flashes", "5")]);
    journal.change_record("body", "0D01", "55 01 99 56");
    let told = lines(&journal);
    assert_eq!(told.len(), 2, "{told:?}");
    assert_eq!(told[0], "authorised and done: body.flashes 3 -> 5");
    assert!(told[1].starts_with("done without authority: body:0D01"), "{told:?}");

    let mut whole = opened(&[("body:0D01", "55 01 99 56")]);
    whole.change_record("body", "0D01", "55 01 99 56");
    assert_eq!(lines(&whole), ["authorised and done: body:0D01 43 01 99 44 -> 55 01 99 56"]);
    assert!(!comes_to(&whole).blocks());
    whole.change(&[("body.fold", "on")]);
    let told = lines(&whole);
    assert!(told.contains(&"authorised, not done: body:0D01 43 01 99 44 -> 5D 01 99 5E".to_owned()), "{told:?}");
    assert!(comes_to(&whole).blocks());
}

#[test]
fn what_a_reading_shows_is_another_hand_unless_it_was_ordered() {
    let mut journal = opened(&[("body.flashes", "5")]);
    // Somebody wrote both and filed neither.
    journal.read(body("4D 01 99 4E"));
    assert_eq!(lines(&journal), ["authorised and done: body.flashes 3 -> 5", "another hand: body.fold off -> on"]);
    assert!(!comes_to(&journal).blocks());
    let seen = comes_to(&journal).of(LineGroup::Done).next().unwrap().verdict;
    assert!(matches!(seen, OrderVerdict::Done(HowDone::Seen(reading)) if reading.get() == 4), "{seen:?}");
}

#[test]
fn a_reading_that_contradicts_the_work_says_what_was_done() {
    let mut journal = opened(&[("body.flashes", "5")]);
    journal.change(&[("body.flashes", "5")]);
    journal.read(body("43 01 99 44"));
    let told = lines(&journal);
    assert!(told.contains(&"authorised, not done: body.flashes 3 -> 3".to_owned()), "{told:?}");
    assert!(!comes_to(&journal).blocks());
}

#[test]
fn another_unit_or_other_software_needs_authority_of_its_own() {
    let update = || reading().module("body").software("0110").record("0D01", "43 01 99 44").record("0D02", "03 A0");
    let mut journal = opened(&[]);
    journal.read(update());
    assert_eq!(lines(&journal), ["another hand: body (the module itself) software 0100 -> software 0110"]);
    let mut journal = opened(&[("body", "unit")]);
    assert_eq!(lines(&journal), ["authorised, not done: body (the module itself) ? -> ?"]);
    journal.read(update());
    assert_eq!(lines(&journal), ["authorised and done: body (the module itself) software 0100 -> software 0110"]);
}

/// What another unit holds came with it: it needs no authority of its own, and giving it what the old one held alters nothing.
#[test]
fn what_came_with_an_authorised_unit_needs_no_other_authority() {
    let unit = |serial: &str, record: &str| body(record).serial(serial);
    let journal = |authorised: &[(&str, &str)]| {
        let mut journal = Journal::new([BODY_1, BODY_2]);
        journal.read(unit("S-1", "43 01 99 44"));
        journal.file(Body::OrderOpened(terms(authorised)));
        journal.read(unit("S-2", "5D 01 99 5E"));
        journal
    };
    let mut authorised = journal(&[("body", "unit")]);
    let told = lines(&authorised);
    assert!(told.iter().all(|line| line.starts_with("authorised and done: ")), "{told:?}");
    assert!(told.contains(&"authorised and done: body.flashes 3 -> 5".to_owned()), "{told:?}");
    // Flashes and folding, bits without a name, and the unit itself.
    assert_eq!(told.len(), 4, "{told:?}");
    authorised.change(&[("body.flashes", "3")]);
    let told = lines(&authorised);
    assert!(told.contains(&"altered and taken back: body.flashes 3 -> 3".to_owned()), "{told:?}");
    assert_eq!(told.len(), 4, "{told:?}");
    authorised.change(&[("body.flashes", "4")]);
    let told = lines(&authorised);
    assert!(told.contains(&"done without authority: body.flashes 5 -> 4".to_owned()), "{told:?}");
    // A later reading of the same unit that shows something else is another hand.
    let mut later = journal(&[("body", "unit")]);
    later.read(unit("S-2", "5C 01 99 5D"));
    assert!(lines(&later).contains(&"another hand: body.flashes 5 -> 4".to_owned()), "{:?}", lines(&later));
    // Without authority the unit is another hand's; bits without a name may be measured values.
    let bits = "cannot tell: body:0D01 byte 0 bit 4 (undeclared) ";
    let told = lines(&journal(&[]));
    assert!(told.iter().all(|line| line.starts_with("another hand: ") || line.starts_with(bits)), "{told:?}");
    assert_eq!(told.len(), 4, "{told:?}");
}

#[test]
fn what_comes_before_and_after_belongs_to_no_order() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(body("43 01 99 44"));
    journal.change(&[("body.fold", "on")]);
    journal.file(Body::OrderOpened(terms(&[("body.flashes", "5")])));
    journal.change(&[("body.flashes", "5")]);
    journal.file(Body::OrderClosed("7".parse().unwrap()));
    journal.change(&[("body.flashes", "6"), ("body.fade", "slow")]);
    assert_eq!(lines(&journal), ["authorised and done: body.flashes 3 -> 5"]);
    let order = orders(&journal.entries).pop().unwrap();
    assert_eq!((order.opened.get(), order.closed.map(|closed| closed.get())), (4, Some(6)));
    // What does not fit the open order is passed over.
    journal.file(Body::OrderClosed("7".parse().unwrap()));
    journal.file(Body::OrderExtended(terms(&[("body.fold", "on")])));
    assert_eq!(orders(&journal.entries).len(), 1);
    assert_eq!(orders(&journal.entries)[0].terms.len(), 1);
}

const FLASHES: [&str; 3] = ["3", "4", "5"];
const FOLD: [&str; 2] = ["off", "on"];

proptest! {
    /// Work on two settings in any order, held against a plain model: what a setting was before the order, what it is
    /// after it, what was authorised.
    #[test]
    fn agrees_with_a_plain_model(
        authorised in (prop::option::of(0usize..3), prop::option::of(0usize..2)),
        work in prop::collection::vec((0usize..3, 0usize..2), 0..6),
    ) {
        let mut wanted = BTreeMap::new();
        if let Some(at) = authorised.0 { wanted.insert("body.flashes", FLASHES[at]); }
        if let Some(at) = authorised.1 { wanted.insert("body.fold", FOLD[at]); }
        let list: Vec<(&str, &str)> = wanted.iter().map(|(name, value)| (*name, *value)).collect();
        let mut journal = opened(&list);
        let mut now = BTreeMap::from([("body.flashes", "3"), ("body.fold", "off")]);
        let (before, mut touched) = (now.clone(), BTreeMap::from([("body.flashes", false), ("body.fold", false)]));
        for (flashes, fold) in work {
            let change: Vec<(&str, &str)> = [("body.flashes", FLASHES[flashes]), ("body.fold", FOLD[fold])]
                .into_iter().filter(|(name, value)| now[name] != *value).collect();
            if change.is_empty() { continue; }
            for (name, value) in &change { now.insert(name, value); touched.insert(name, true); }
            journal.change(&change);
        }
        let told = comes_to(&journal);
        for name in ["body.flashes", "body.fold"] {
            let mut groups: Vec<LineGroup> =
                told.lines.iter().filter(|line| line.what.to_string() == name).map(|line| line.verdict.group()).collect();
            groups.sort();
            let mut expected = match wanted.get(name) {
                Some(value) if now[name] == *value => vec![LineGroup::Done],
                Some(_) => vec![LineGroup::NotDone],
                None => vec![],
            };
            if touched[name] && wanted.get(name) != Some(&now[name]) {
                expected.push(if now[name] == before[name] { LineGroup::TakenBack } else { LineGroup::WithoutAuthority });
            }
            expected.sort();
            prop_assert_eq!(groups, expected, "{}", name);
        }
    }
}
