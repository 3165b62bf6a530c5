//! An entry in a line.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use support::*;

fn headlines(journal: &Journal) -> Vec<String> {
    let history = journal.history();
    journal.entries.iter().map(|entry| history.headline(entry)).collect()
}

#[test]
fn every_kind_of_entry_says_what_it_did() {
    let mut journal = Journal::new([BODY_1, CLUSTER]);
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").value("speed", "15"));
    journal.change(&[("body.flashes", "5")]);
    journal.change(&[("body.fold", "on"), ("body.fade", "slow"), ("body.speed", "20")]);
    journal.read(reading().module("body").record("0D01", "4F 06 99 55"));
    journal.put_back(&[4]).unwrap();
    journal.never_made(6).unwrap();
    journal.return_to(2).unwrap();
    journal.read(reading().module("body").software("0150").record("0D01", "43 01 99 44"));
    journal.correct_left(8, &[("body.speed", "25")]);
    let found = headlines(&journal);
    assert_eq!(found[0], "enrolled: wren");
    assert_eq!(found[1], "reading check (partial): 1 module, 1 record, 1 setting by value");
    assert_eq!(found[2], "change: body.flashes 3 -> 5");
    assert_eq!(found[3], "change: body.fade short -> slow, body.fold off -> on and 1 more");
    assert_eq!(found[4], "reading check (partial): 1 module, 1 record; contradicts 1 change");
    assert!(found[5].starts_with("put-back of entry 4: ") && found[5].ends_with("(never made)"), "{}", found[5]);
    assert_eq!(found[6], "correction of entry 6: never made");
    assert!(found[7].starts_with("put-back to entry 2: "), "{}", found[7]);
    assert_eq!(found[8], "reading check (partial): 1 module, 1 record; another hand: module identity");
    assert_eq!(found[9], "correction of entry 8");
    let history = journal.history();
    assert_eq!(history.alteration_lines(number(2)), [] as [String; 0], "what became known is no alteration");
    assert_eq!(
        history.alteration_lines(number(4)),
        ["body.fade short -> slow", "body.fold off -> on", "body.speed 15 km/h -> 20 km/h"]
    );
}
