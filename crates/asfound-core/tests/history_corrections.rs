//! A wrong entry is answered by a correction, and the life of every field is what it was.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::{Correction, Effects, RecordEffect};
use asfound_core::history::{ContentStatus, HandKind, Origin};
use asfound_core::plan::PlanRefusal;
use support::*;

fn body_read(journal: &mut Journal) -> u32 {
    // flashes 3, fold off, fade short; 4B + 01 = 4C.
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0"))
}

#[test]
fn a_correction_takes_out_work_that_was_never_made_and_what_followed_stands_on_what_was_there() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.never_made(3).unwrap();
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3")]);
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 99 44");
    assert_eq!(journal.standing("body.flashes"), Some(ContentStatus::Read { since: number(2), last: number(2) }));

    // The same, but a reading showed it before the correction.
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.read(reading().module("body").record("0D01", "43 01 99 44"));
    journal.never_made(3).unwrap();
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3")]);

    // A reading that shows a third value contradicts nothing that was made.
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.read(reading().module("body").record("0D01", "47 01 99 48"));
    journal.correct(Correction { never_made: true, ..correction(3) });
    assert_eq!(
        journal.life("body.flashes"),
        [step(2, Origin::FirstKnown, "?", "3"), step(4, Origin::AnotherHand(HandKind::SettingsAltered), "3", "7")]
    );
}

/// What was never made was never held, so that no later put-back may write it.
#[test]
fn what_was_never_made_is_never_put_back() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.change(&[("body.flashes", "7")]);
    journal.correct(Correction { never_made: true, ..correction(3) });
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3"), step(4, Origin::Work, "3", "7")]);
    journal.put_back(&[4]).unwrap();
    assert_eq!(journal.value("body.flashes").unwrap(), "3");
}

#[test]
fn undeclared_bits_that_were_never_altered_have_no_life() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change_record("body", "0D02", "03 AF");
    journal.never_made(3).unwrap();
    assert_eq!(journal.undeclared("body"), []);
    assert_eq!(journal.bytes("body", "0D02").unwrap(), "03 A0");

    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change_record("body", "0D02", "03 AF");
    journal.read(reading().module("body").record("0D02", "03 A0"));
    journal.never_made(3).unwrap();
    assert_eq!(journal.undeclared("body"), []);
}

#[test]
fn a_correction_says_what_was_left_or_found_instead() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.correct_left(3, &[("body.flashes", "4")]);
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3"), step(3, Origin::Work, "3", "4")]);
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "44 01 99 45");
    // Nothing was altered after all.
    journal.correct_left(3, &[("body.flashes", "3")]);
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3")]);

    let mut journal = Journal::new([CLUSTER]);
    journal.read(reading().module("cluster").value("volume", "3"));
    let mut targets = journal.targets(&[("cluster.chime", "on")]);
    targets.allow_one_way();
    journal.work(&targets).unwrap();
    assert!(journal.put_back(&[3]).is_err(), "no way back");
    journal.correct_was(3, "cluster.chime", "off");
    assert_eq!(journal.life("cluster.chime"), [step(3, Origin::Work, "off", "on")]);
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.value("cluster.chime").unwrap(), "off");
}

/// What a correction says of the present is in the state, so it has to be in the life of the field as well.
#[test]
fn a_correction_that_tells_more_than_its_entry_leaves_no_gap() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.correct_left(3, &[("body.fold", "on")]);
    assert_eq!(journal.value("body.fold").unwrap(), "on");
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "4D 01 99 4E");

    // Undeclared bits: the change is said to have altered other ones.
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change_record("body", "0D02", "03 A1");
    let effect = RecordEffect {
        module: "body".parse().unwrap(),
        record: "0D02".parse().unwrap(),
        found: Some(hex("03 A1")),
        left: hex("03 A3"),
    };
    journal.correct(Correction { effects: Effects { records: vec![effect], ..Effects::default() }, ..correction(3) });
    assert_eq!(
        journal.undeclared("body"),
        [("byte 1 bits 0-1".to_owned(), vec![step(3, Origin::Work, "03 A0", "03 A3")])]
    );
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.bytes("body", "0D02").unwrap(), "03 A0");
}

/// Whoever reads a change back has seen that somebody made it.
#[test]
fn work_that_was_read_back_was_made() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.read(reading().module("body").record("0D01", "45 01 99 46"));
    let Err(PlanRefusal::Blocked(blockers)) = journal.never_made(3) else { panic!("it was read back") };
    assert_eq!((blockers.len(), &blockers[0].in_the_way), (1, &vec![number(4)]));
    for (entry, refusal) in [
        (4, PlanRefusal::NothingIn(number(4))),
        (1, PlanRefusal::NothingIn(number(1))),
        (9, PlanRefusal::NoEntry(number(9))),
    ] {
        assert_eq!(journal.never_made(entry), Err(refusal));
    }
}

/// What later work left is there, whether or not the work before it was made.
#[test]
fn later_work_says_what_is_there_now() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5"), ("body.fold", "on")]);
    journal.change(&[("body.flashes", "7")]);
    journal.never_made(3).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "47 01 99 48");
    assert_eq!(journal.life("body.flashes")[1..], [step(4, Origin::Work, "3", "7")]);
    assert_eq!(journal.life("body.fold").len(), 1);
    journal.never_made(4).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 99 44");
    let again = journal.never_made(4);
    assert_eq!(again, Err(PlanRefusal::NeverMade { entry: number(4), correction: number(6) }));

    // Entry 5 left what had been there before entry 4, so that it altered nothing once entry 4 was never made; and it
    // altered something once entry 3 was not made either.
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    journal.change(&[("body.flashes", "5")]);
    journal.change(&[("body.flashes", "7")]);
    journal.change(&[("body.flashes", "5")]);
    journal.never_made(4).unwrap();
    assert_eq!(journal.life("body.flashes")[1..], [step(3, Origin::Work, "3", "5")]);
    journal.never_made(3).unwrap();
    assert_eq!(journal.life("body.flashes")[1..], [step(5, Origin::Work, "3", "5")]);
    assert_eq!(journal.value("body.flashes").unwrap(), "5");
}

/// A correction tells what is there: no rule between settings and no permitted range stands in its way.
#[test]
fn a_correction_is_about_what_is_not_about_what_may_be() {
    let mut journal = Journal::new([BODY_1, CLUSTER]);
    body_read(&mut journal);
    journal.read(reading().module("cluster").record("3B01", "31").module("gateway").value("light_level", "1"));
    journal.change(&[("body.flashes", "5"), ("cluster.volume", "4")]);
    assert!(matches!(journal.plan(&journal.targets(&[("body.flashes", "0")])), Err(PlanRefusal::CannotSet { .. })));
    assert!(matches!(journal.plan(&journal.targets(&[("cluster.volume", "9")])), Err(PlanRefusal::BreaksRules(_))));
    journal.correct_left(4, &[("body.flashes", "0"), ("cluster.volume", "9")]);
    assert_eq!(journal.life("body.flashes")[1..], [step(4, Origin::Work, "3", "0")]);
    assert_eq!(journal.life("cluster.volume")[1..], [step(4, Origin::Work, "3", "9")]);
    journal.never_made(4).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 99 44");
    assert_eq!(journal.bytes("cluster", "3B01").unwrap(), "31");
}
