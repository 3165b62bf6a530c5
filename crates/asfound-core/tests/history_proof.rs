//! How well an alteration is proven, derived from what was read after it.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::history::{ContentStatus, HandKind, Origin, Proof};
use support::*;

fn found() -> Said {
    reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0")
}

fn bytes(record: &str) -> Said {
    reading().module("body").record("0D01", record)
}

fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(found());
    journal.change(&[("body.flashes", "5")]);
    journal
}

#[test]
fn nothing_read_since_leaves_it_stated() {
    let mut journal = journal();
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Stated));
    // A reading of something else proves nothing.
    journal.read(reading().module("body").record("0D02", "03 A0"));
    journal.read(reading().module("body").value("fold", "off"));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Stated));
    assert_eq!(journal.standing("body.flashes"), Some(ContentStatus::Altered { by: number(3), proof: Proof::Stated }));
    assert_eq!(journal.proof("body.flashes", 2), None, "a reading is no work");
    assert_eq!(journal.proof("body.fold", 3), None, "not altered by it");
}

#[test]
fn a_reading_that_shows_it_reads_it_back() {
    for said in [bytes("45 01 00 46"), reading().module("body").value("flashes", "5")] {
        let mut journal = journal();
        journal.read(said);
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::ReadBack(number(4))));
        // Another hand afterwards takes nothing from it.
        journal.read(bytes("47 01 00 48"));
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::ReadBack(number(4))));
        assert_eq!(journal.standing("body.flashes"), Some(ContentStatus::AnotherHand { seen: number(5) }));
        let last = journal.life("body.flashes").pop().unwrap();
        assert_eq!(last.1, Origin::AnotherHand(HandKind::SettingsAltered));
    }
}

#[test]
fn a_reading_that_shows_something_else_contradicts_it() {
    for said in [bytes("43 01 00 44"), bytes("47 01 00 48"), reading().module("body").value("flashes", "3")] {
        let mut journal = journal();
        journal.read(said);
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Contradicted(number(4))));
        let standing = ContentStatus::Contradiction { of: number(3), seen: number(4) };
        assert_eq!(journal.standing("body.flashes"), Some(standing));
        // What differs later contradicts nothing any more.
        journal.read(bytes("46 01 00 47"));
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Contradicted(number(4))));
        let last = journal.life("body.flashes").pop().unwrap();
        assert_eq!(last.1, Origin::AnotherHand(HandKind::SettingsAltered));
    }
}

#[test]
fn other_work_before_the_first_reading_leaves_the_earlier_stated() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "6")]);
    journal.read(bytes("46 01 00 47"));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Stated));
    assert_eq!(journal.proof("body.flashes", 4), Some(Proof::ReadBack(number(5))));
}

/// Work by name, then the bytes are read for the first time.
#[test]
fn bytes_read_back_what_was_stated_by_name() {
    let mut journal = Journal::new([CLUSTER]);
    journal.read(reading().module("cluster").value("volume", "3").value("chime", "off"));
    journal.change(&[("cluster.volume", "4")]);
    journal.read(reading().module("cluster").record("3B01", "40"));
    assert_eq!(journal.proof("cluster.volume", 3), Some(Proof::ReadBack(number(4))));
    assert_eq!(
        journal.standing("cluster.volume"),
        Some(ContentStatus::Altered { by: number(3), proof: Proof::ReadBack(number(4)) })
    );
    assert_eq!(
        journal.standing("cluster.chime"),
        Some(ContentStatus::Read { since: number(2), last: number(4) }),
        "the bytes show it once more"
    );
}

/// A reading of a record proves what the definition of that day explains, not what once lay in the record.
#[test]
fn a_record_that_no_longer_holds_a_setting_proves_nothing_of_it() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(found());
    journal.read(reading().module("body").software("0200").record("0D01", "00 03 01 99 04").record("0D02", "03 A0"));
    assert_eq!(journal.value("body.fold").unwrap(), "off");
    journal.change(&[("body.fold", "on")]);
    journal.read(reading().module("body").record("0D01", "00 03 01 98 04"));
    assert_eq!(journal.proof("body.fold", 4), Some(Proof::Stated), "`fold` lies in record 0D02 now");
    journal.read(reading().module("body").record("0D02", "03 A1"));
    assert_eq!(journal.proof("body.fold", 4), Some(Proof::ReadBack(number(6))));
}

/// After an update or in another unit, other content says nothing of whether the change was made.
#[test]
fn another_unit_or_other_software_contradicts_no_change() {
    for renewed in [
        reading().module("body").software("0150").record("0D01", "43 01 99 44"),
        reading().module("body").serial("B").record("0D01", "43 01 99 44"),
    ] {
        let mut journal = Journal::new([BODY_1]);
        journal.read(found().module("body").serial("A"));
        journal.change(&[("body.flashes", "5")]);
        journal.read(renewed);
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Stated));
        assert_eq!(journal.standing("body.flashes"), Some(ContentStatus::AnotherHand { seen: number(4) }));
    }
}

#[test]
fn undeclared_bits_are_proven_likewise() {
    for (read, proof) in [("03 AF", Proof::ReadBack(number(4))), ("03 A0", Proof::Contradicted(number(4)))] {
        let mut journal = Journal::new([BODY_1]);
        journal.read(found());
        journal.change_record("body", "0D02", "03 AF");
        let of = |journal: &Journal| {
            let history = journal.history();
            let field = history.transitions_of(number(3)).next().map(|(field, _)| field.clone()).unwrap();
            history.proof(&field, number(3))
        };
        assert_eq!(of(&journal), Some(Proof::Stated));
        journal.read(reading().module("body").record("0D02", read));
        assert_eq!(of(&journal), Some(proof));
    }
}

#[test]
fn a_put_back_is_work_and_is_proven_like_any() {
    let mut journal = journal();
    journal.read(bytes("45 01 00 46"));
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.proof("body.flashes", 5), Some(Proof::Stated));
    journal.read(bytes("45 01 00 46"));
    assert_eq!(journal.proof("body.flashes", 5), Some(Proof::Contradicted(number(6))));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::ReadBack(number(4))));
}
