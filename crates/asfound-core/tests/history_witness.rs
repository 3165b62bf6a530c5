//! What a bus log proves of an alteration, and what it does not.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::{Body, BusLogBody, FiledLog, LogDigest, Mending, WireAnswer, WireGap, WireWrite};
use asfound_core::history::{ContentStatus, HandKind, Origin, Proof};
use support::*;
use time::OffsetDateTime;

fn write(written: &str, answer: WireAnswer, read_back: Option<&str>) -> WireWrite {
    WireWrite {
        at: Some(OffsetDateTime::UNIX_EPOCH),
        found: Some("43 01 99 44".parse().unwrap()),
        written: Some(written.parse().unwrap()),
        read_back: read_back.map(|bytes| bytes.parse().unwrap()),
        entry: Some(number(3)),
        ..WireWrite::new("body".parse().unwrap(), "0D01".parse().unwrap(), answer)
    }
}

fn witness(writes: Vec<WireWrite>) -> Body {
    let log = FiledLog {
        name: "a.log".to_owned(),
        sha256: LogDigest::try_from("0".repeat(64)).unwrap(),
        bytes: 1,
        first: None,
        last: None,
    };
    Body::Witness(BusLogBody { logs: vec![log], writes, ..BusLogBody::default() })
}

/// As found is entry 2, the change of flashes from 3 to 5 entry 3.
fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0"));
    journal.change(&[("body.flashes", "5")]);
    journal
}

#[test]
fn write_answer_and_read_back_witness_it() {
    let mut journal = journal();
    journal.file(witness(vec![write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"))]));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Witnessed(number(4))));
    let standing = ContentStatus::Altered { by: number(3), proof: Proof::Witnessed(number(4)) };
    assert_eq!(journal.standing("body.flashes"), Some(standing));
    // A reading afterwards makes it no weaker, whatever it shows.
    let mut same = journal.clone();
    same.read(reading().module("body").record("0D01", "45 01 99 46"));
    assert_eq!(same.proof("body.flashes", 3), Some(Proof::Witnessed(number(4))));
    journal.read(reading().module("body").record("0D01", "43 01 99 44"));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Witnessed(number(4))));
    let last = journal.life("body.flashes").pop().unwrap();
    assert_eq!(last.1, Origin::AnotherHand(HandKind::SettingsAltered));
}

#[test]
fn a_log_that_comes_after_the_reading_settles_it() {
    let mut journal = journal();
    journal.read(reading().module("body").record("0D01", "43 01 99 44"));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Contradicted(number(4))));
    journal.file(witness(vec![write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"))]));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Witnessed(number(5))));
    assert_eq!(journal.standing("body.flashes"), Some(ContentStatus::AnotherHand { seen: number(4) }));
}

#[test]
fn each_of_the_three_is_needed() {
    let right = "45 01 99 46";
    let elsewhere = |edit: fn(&mut WireWrite)| {
        let mut write = write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"));
        edit(&mut write);
        write
    };
    for insufficient in [
        write(right, WireAnswer::Accepted, None),
        write(right, WireAnswer::None, Some(right)),
        write(right, WireAnswer::Refused, Some(right)),
        write(right, WireAnswer::Accepted, Some("43 01 99 44")),
        write("44 01 99 45", WireAnswer::Accepted, Some(right)),
        elsewhere(|write| write.written = None),
        elsewhere(|write| write.entry = None),
        elsewhere(|write| write.entry = Some(number(2))),
        elsewhere(|write| write.record = "0D02".parse().unwrap()),
        elsewhere(|write| write.module = "doors".parse().unwrap()),
    ] {
        let mut journal = journal();
        journal.file(witness(vec![insufficient.clone()]));
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Stated), "{insufficient:?}");
    }
}

/// A counter in the same record goes on between write and read-back; the setting is what was written.
#[test]
fn what_else_the_record_holds_does_not_matter() {
    let mut journal = journal();
    journal.file(witness(vec![write("45 07 99 4C", WireAnswer::Accepted, Some("45 02 99 47"))]));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Witnessed(number(4))));
}

#[test]
fn an_entry_says_nothing_of_later_ones() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.file(witness(vec![write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"))]));
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0"));
    journal.change(&[("body.flashes", "5")]);
    let mut forged = write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"));
    forged.entry = Some(number(4));
    journal.entries[1].body = witness(vec![forged]);
    assert_eq!(journal.proof("body.flashes", 4), Some(Proof::Stated));
}

#[test]
fn another_hand_gets_its_moment() {
    let mut journal = journal();
    journal.read(reading().module("body").record("0D01", "45 01 99 46"));
    journal.read(reading().module("body").record("0D01", "47 01 99 48"));
    let mut seen = write("47 01 99 48", WireAnswer::Accepted, Some("47 01 99 48"));
    (seen.entry, seen.shown_by) = (None, Some(number(5)));
    journal.file(witness(vec![seen.clone()]));
    let history = journal.history();
    let found = history.on_the_wire(&field("body.flashes"), number(5)).unwrap();
    assert_eq!((found.entry, &found.write), (number(6), &seen));
    assert_eq!(history.on_the_wire(&field("body.flashes"), number(3)), None);
    // It proves nothing of work: nobody recorded any.
    assert_eq!(journal.proof("body.flashes", 5), None);
}

#[test]
fn what_is_witnessed_was_made() {
    let mut journal = journal();
    journal.file(witness(vec![write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"))]));
    let refused = asfound_core::plan::never_made(&journal.history(), number(3)).unwrap_err();
    assert!(matches!(refused, asfound_core::plan::PlanRefusal::Blocked(_)), "{refused:?}");
}

#[test]
fn what_was_mended_witnesses_in_part() {
    let mended =
        WireWrite { mended: vec![Mending::Doubled], ..write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46")) };
    let gap = WireGap { before: "45".parse().unwrap(), missing: 2, after: Some("46".parse().unwrap()) };
    let in_part =
        WireWrite { written: None, mended: vec![Mending::PartMissing], gap: Some(gap.clone()), ..mended.clone() };
    let no_request = WireWrite { gap: None, mended: vec![Mending::RequestMissing], ..in_part.clone() };
    for one in [mended.clone(), in_part.clone(), no_request] {
        let mut journal = journal();
        journal.file(witness(vec![one.clone()]));
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::PartlyWitnessed(number(4))), "{one:?}");
        // What is read later is another hand, as after work that is witnessed.
        journal.read(reading().module("body").record("0D01", "43 01 99 44"));
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::PartlyWitnessed(number(4))));
        assert_eq!(journal.life("body.flashes").pop().unwrap().1, Origin::AnotherHand(HandKind::SettingsAltered));
    }
    // A read-back that speaks against the rest, none at all, or no answer prove nothing.
    let otherwise = WireGap { after: Some("47".parse().unwrap()), ..gap };
    for one in [
        WireWrite { gap: Some(otherwise), ..in_part.clone() },
        WireWrite { read_back: None, ..in_part.clone() },
        WireWrite { answer: WireAnswer::None, ..in_part },
    ] {
        let mut journal = journal();
        journal.file(witness(vec![one.clone()]));
        assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Stated), "{one:?}");
    }
    // The same bytes written twice, once whole: that one proves it.
    let mut journal = journal();
    let whole = write("45 01 99 46", WireAnswer::Accepted, Some("45 01 99 46"));
    journal.file(witness(vec![whole, mended]));
    assert_eq!(journal.proof("body.flashes", 3), Some(Proof::Witnessed(number(4))));
}
