//! Taking entries back: field by field, and never to a value that the field did not hold.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::difference::Content;
use asfound_core::history::{Field, Origin};
use asfound_core::plan::{Plan, PlanRefusal, PutBackWish, Targets, Write, plan, put_back};
use asfound_core::value::Value;
use support::*;

fn body(record: &str) -> Said {
    reading().module("body").software("0100").record("0D01", record).record("0D02", "03 A0")
}

fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(body("43 01 99 44"));
    journal
}

fn blockers(refusal: Result<Plan, PlanRefusal>) -> Vec<(String, u32, Vec<u32>)> {
    match refusal {
        Err(PlanRefusal::Blocked(blockers)) => blockers
            .into_iter()
            .map(|blocker| {
                let in_the_way = blocker.in_the_way.iter().map(|entry| entry.get()).collect();
                (blocker.field.to_string(), blocker.wanted.get(), in_the_way)
            })
            .collect(),
        other => panic!("not blocked: {other:?}"),
    }
}

/// Entry 3 changed three bits of byte 0, entry 4 the one beside them; entry 5 another record.
#[test]
fn one_among_many_is_taken_back_and_the_others_stay() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "5")]);
    journal.change(&[("body.fold", "on"), ("body.fade", "slow")]);
    journal.change(&[("body.speed", "30")]);
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "4B 06 99 51");
    assert_eq!(journal.bytes("body", "0D02").unwrap(), "06 A0");
    journal.put_back(&[4]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 99 44");
}

/// 01 -> 11, then 11 -> 10: putting the first back bit by bit would give 00, a value that nobody ever set.
#[test]
fn a_later_change_of_the_same_setting_stands_in_the_way() {
    let mut journal = journal();
    assert_eq!(journal.change(&[("body.flashes", "1")]), 3);
    assert_eq!(journal.change(&[("body.flashes", "3")]), 4);
    assert_eq!(journal.change(&[("body.flashes", "2")]), 5);
    assert_eq!(blockers(journal.put_back_plan(&[4])), [("body.flashes".to_owned(), 4, vec![5])]);
    assert_eq!(blockers(journal.put_back_plan(&[3])), [("body.flashes".to_owned(), 3, vec![4, 5])]);
    assert_eq!(blockers(journal.put_back_plan(&[3, 5])), [("body.flashes".to_owned(), 3, vec![4])]);
    journal.put_back(&[5, 4]).unwrap();
    assert_eq!(journal.value("body.flashes").unwrap(), "1");
}

/// Several bit patterns may mean the same. A value told by name, then its bits read, then other bits of the same meaning written:
/// the way back leads to the bits that were there.
#[test]
fn bits_that_mean_what_a_value_by_name_said_are_put_back_as_they_were() {
    let mut journal = Journal::new([BODY_1]);
    journal.read(reading().module("body").software("0100").value("fade", "long"));
    journal.read(body("43 03 99 46"));
    assert_eq!(journal.change_record("body", "0D01", "43 05 99 48"), 4);
    assert_eq!(journal.change_record("body", "0D01", "43 04 99 47"), 5);
    let worked = |entry| step(entry, Origin::Work, "long", "long");
    assert_eq!(journal.life("body.fade")[1..], [worked(4), worked(5)]);
    journal.put_back(&[5]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 05 99 48");
    journal.put_back(&[4]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 03 99 46");
}

/// The same with bits that nobody has named: 01 -> 11 and 11 -> 10 are one group.
#[test]
fn a_later_change_in_the_same_group_of_bits_stands_in_the_way() {
    let mut journal = journal();
    journal.change_record("body", "0D02", "03 10");
    journal.change_record("body", "0D02", "03 30");
    journal.change_record("body", "0D02", "03 20");
    let group = "body:0D02 byte 1 bits 4,5,7 (undeclared)".to_owned();
    assert_eq!(blockers(journal.put_back_plan(&[4])), [(group, 4, vec![5])]);
    journal.put_back(&[5, 4]).unwrap();
    assert_eq!(journal.bytes("body", "0D02").unwrap(), "03 10");
}

#[test]
fn the_user_keeps_or_chooses_where_entries_stand_in_the_way() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "1"), ("body.fold", "on")]);
    journal.change(&[("body.flashes", "2")]);
    let planned = |wish: &PutBackWish| {
        let history = journal.history();
        plan(&history, &journal.definitions, &put_back(&history, wish)?)
    };
    let mut wish = PutBackWish { entries: [number(3)].into(), ..PutBackWish::default() };
    assert!(matches!(planned(&wish), Err(PlanRefusal::Blocked(_))));
    wish.keep.insert(path("body.flashes"));
    assert_eq!(written(&planned(&wish).unwrap()), ["42 01 99 43"]);
    wish.keep.clear();
    wish.choose.insert(path("body.flashes"), Value::Integer(6));
    assert_eq!(written(&planned(&wish).unwrap()), ["46 01 99 47"]);
}

fn written(plan: &Plan) -> Vec<String> {
    plan.steps
        .iter()
        .map(|step| match &step.write {
            Write::Record { write, .. } | Write::BlindRecord { write, .. } => write.to_string(),
            Write::ByName { setting, write, .. } => format!("{setting}={write}"),
        })
        .collect()
}

/// Whoever takes changes back one after the other, the last one first, meets nothing in the way.
#[test]
fn what_was_taken_back_stands_in_nobody_s_way() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "5")]);
    journal.change(&[("body.flashes", "7")]);
    assert_eq!(journal.put_back(&[4]).unwrap(), 5);
    assert_eq!(journal.put_back(&[3]).unwrap(), 6);
    assert_eq!(journal.value("body.flashes").unwrap(), "3");
    // Both are taken back already.
    for entries in [&[3][..], &[4], &[3, 4]] {
        assert_eq!(journal.put_back_plan(entries), Err(PlanRefusal::Nothing), "{entries:?}");
    }
    // Taking a put-back back makes the change again.
    assert_eq!(journal.put_back(&[6]).unwrap(), 7);
    assert_eq!(journal.value("body.flashes").unwrap(), "5");
    assert_eq!(journal.put_back(&[5]).unwrap(), 8);
    assert_eq!(journal.value("body.flashes").unwrap(), "7");
    // A new decision for the value that it had is none of them.
    journal.change(&[("body.flashes", "5")]);
    assert_eq!(blockers(journal.put_back_plan(&[3])), [("body.flashes".to_owned(), 3, vec![4, 9])]);
}

#[test]
fn return_to_takes_everything_later_back_and_can_be_taken_back_itself() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "5")]);
    journal.change_record("body", "0D02", "05 5F");
    journal.read(body("4E 01 12 4F").record("0D02", "05 5F"));
    journal.read(reading().module("cluster").value("tone", "high"));
    journal.change(&[("cluster.tone", "low")]);
    assert_eq!(journal.return_to(3).unwrap(), 8);
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "45 01 12 46");
    assert_eq!(journal.bytes("body", "0D02").unwrap(), "03 A0");
    assert_eq!(journal.value("cluster.tone").unwrap(), "high", "the first that is known of it");
    assert_eq!(journal.return_to_plan(3), Err(PlanRefusal::Nothing));
    assert_eq!(journal.return_to_plan(9), Err(PlanRefusal::NoEntry(number(9))));
    journal.put_back(&[8]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "4E 01 12 4F");
    assert_eq!(journal.bytes("body", "0D02").unwrap(), "05 5F");
    assert_eq!(journal.value("cluster.tone").unwrap(), "low");
}

#[test]
fn another_hand_can_be_taken_back_and_nothing_cannot() {
    let mut journal = journal();
    journal.read(body("4B 01 98 4C"));
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 98 44");
    assert_eq!(journal.put_back_plan(&[2]), Err(PlanRefusal::NothingIn(number(2))));
    assert_eq!(journal.put_back_plan(&[1]), Err(PlanRefusal::NothingIn(number(1))));
    assert_eq!(journal.put_back_plan(&[17]), Err(PlanRefusal::NoEntry(number(17))));
    journal.change(&[("body.fold", "on")]);
    journal.never_made(5).unwrap();
    let refused = PlanRefusal::NeverMade { entry: number(5), correction: number(6) };
    assert_eq!(journal.put_back_plan(&[5]), Err(refused));
}

#[test]
fn a_contradicted_change_is_put_back_already() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "5")]);
    journal.read(body("43 01 99 44"));
    assert_eq!(journal.put_back_plan(&[3]), Err(PlanRefusal::Nothing));
    journal.read(body("47 01 99 48"));
    assert_eq!(blockers(journal.put_back_plan(&[3])), [("body.flashes".to_owned(), 3, vec![4, 5])]);
}

/// Coded values that are shown as one name come back as the bits that they were.
#[test]
fn bits_come_back_also_where_their_name_is_ambiguous_or_missing() {
    for byte in ["04", "0C"] {
        let mut journal = Journal::new([BODY_1]);
        let record = format!("43 {byte} 99 {:02X}", 0x43 + u8::from_str_radix(byte, 16).unwrap());
        journal.read(body(&record));
        journal.change(&[("body.fade", "slow")]);
        journal.put_back(&[3]).unwrap();
        assert_eq!(journal.bytes("body", "0D01").unwrap(), record);
    }
}

#[test]
fn a_value_is_encoded_afresh_for_new_software_or_the_field_is_blocked() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "5"), ("body.fold", "on"), ("body.fade", "none")]);
    journal.change_record("body", "0D02", "03 5F");
    let updated = reading().module("body").software("0200");
    journal.read(updated.record("0D01", "A0 05 00 98 A5").record("0D02", "03 5F"));
    let plan = journal.put_back_plan(&[3, 4]).unwrap();
    // flashes 3 in byte 1, fold off in record 0D02, byte 1; fade short is 0 now, as it stands.
    assert_eq!(written(&plan), ["A0 03 00 98 A3", "03 5E"]);
    assert_eq!(plan.blocked.len(), 1);
    assert!(matches!(&plan.blocked[0].field, Field::Undeclared { mask, .. } if mask.to_string() == "byte 1"));
    assert!(plan.blocked[0].why.contains("entry 5"), "{}", plan.blocked[0].why);

    // `none` is no value of the new software.
    journal.read(reading().module("body").record("0D01", "A0 05 01 98 A6"));
    let history = journal.history();
    let mut targets = Targets::new();
    let fade = field("body.fade");
    let none = history.timeline(&fade).unwrap().held().find(|held| held.to_string() == "none").unwrap();
    targets.restore(&fade, none);
    let plan = asfound_core::plan::plan(&history, &journal.definitions, &targets).unwrap();
    assert_eq!((plan.steps.len(), plan.blocked.len(), plan.settled.len()), (0, 1, 0));
}

/// The update left the layout alone, but bits that nobody has named may mean something else.
#[test]
fn bits_without_a_name_are_not_carried_over_to_other_software() {
    for renewed in [reading().module("body").software("0150"), reading().module("body").part_number("P2")] {
        let mut journal = Journal::new([BODY_1]);
        journal.read(body("43 01 99 44").module("body").part_number("P1"));
        journal.change_record("body", "0D02", "05 5F");
        journal.read(renewed.record("0D01", "43 01 99 44").record("0D02", "05 5F"));
        let plan = journal.put_back_plan(&[3]).unwrap();
        assert_eq!(written(&plan), ["03 5F"], "the speed goes back, the bits stay");
        assert_eq!(plan.blocked.len(), 1, "{plan:?}");
        assert!(plan.settled.is_empty());
        // What is altered under the new software can be taken back.
        journal.change_record("body", "0D02", "05 A0");
        assert_eq!(written(&journal.put_back_plan(&[5]).unwrap()), ["05 5F"]);
    }
}

/// The same group of bits was altered before the update and after it: only the later alteration can be taken back.
#[test]
fn a_group_altered_on_both_sides_of_an_update_is_blocked_for_the_earlier_side() {
    let mut journal = journal();
    journal.change_record("body", "0D02", "03 5F");
    journal.read(reading().module("body").software("0200").record("0D01", "A0 05 00 98 A5").record("0D02", "03 5E"));
    journal.change_record("body", "0D02", "03 A0");
    let plan = journal.put_back_plan(&[3, 5]).unwrap();
    assert_eq!(plan.blocked.len(), 1, "{plan:?}");
    assert_eq!(written(&plan), ["03 5E"], "{plan:?}");
}

/// The new software was seen, the record was not read since.
#[test]
fn a_record_that_was_not_read_since_an_update_is_not_written() {
    let mut journal = journal();
    journal.change(&[("body.flashes", "5")]);
    journal.change_record("body", "0D02", "05 5F");
    journal.read(reading().module("body").software("0200").record("0D02", "05 5F"));
    // Of record 0D01 nothing is known any more: to set a value one has to read first, or tell what it was.
    let targets = journal.targets(&[("body.flashes", "4")]);
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::NoWayBack(_))));
    let mut targets = Targets::new();
    targets.choose_record("body".parse().unwrap(), "0D01".parse().unwrap(), hex("00 01 00 00 01"));
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::CannotSet { .. })));
    let plan = journal.put_back_plan(&[3, 4]).unwrap();
    assert_eq!(written(&plan), ["03 5F"]);
    let blocked: Vec<String> = plan.blocked.iter().map(|blocked| blocked.field.to_string()).collect();
    assert_eq!(blocked, ["body.flashes", "body:0D02 byte 1 (undeclared)"]);
    journal.read(reading().module("body").record("0D01", "A0 05 00 98 A5"));
    assert_eq!(written(&journal.put_back_plan(&[3]).unwrap()), ["A0 03 00 98 A3"]);
}

#[test]
fn one_way_work_has_no_way_back() {
    let mut journal = Journal::new([CLUSTER]);
    journal.read(reading().module("cluster").value("volume", "3"));
    let mut targets = journal.targets(&[("cluster.chime", "on")]);
    let refused = PlanRefusal::NoWayBack(vec![field("cluster.chime")]);
    assert_eq!(journal.plan(&targets), Err(refused.clone()));
    targets.allow_one_way();
    journal.work(&targets).unwrap();
    assert!(journal.last_work().one_way);
    assert_eq!(journal.put_back_plan(&[3]), Err(refused));
    // The way back is known from the second alteration on.
    journal.change(&[("cluster.chime", "off")]);
    assert!(!journal.last_work().one_way);
    journal.put_back(&[4]).unwrap();
    assert_eq!(journal.value("cluster.chime").unwrap(), "on");
}

#[test]
fn what_was_told_as_found_is_where_it_goes_back_to() {
    let mut journal = Journal::new([CLUSTER]);
    journal.read(reading().module("cluster").value("volume", "3"));
    let mut targets = journal.targets(&[("cluster.chime", "on"), ("cluster.volume", "4")]);
    targets.tell_was(field("cluster.chime"), Value::Switch(false));
    targets.tell_was(field("cluster.volume"), Value::Integer(5));
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::OtherThanKnown { .. })));
    targets.tell_was(field("cluster.volume"), Value::Integer(3));
    journal.work(&targets).unwrap();
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.value("cluster.chime").unwrap(), "off");
    assert_eq!(journal.value("cluster.volume").unwrap(), "3");
}

/// A whole record that nobody has read, with its content as found as it was told.
#[test]
fn a_record_told_as_found_goes_back_whole() {
    let mut journal = journal();
    let (cluster, record) = ("cluster".parse().unwrap(), "3B01".parse().unwrap());
    journal.define(CLUSTER);
    let mut targets = Targets::new();
    targets.choose_record("cluster".parse().unwrap(), "3B01".parse().unwrap(), hex("45"));
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::NoWayBack(_))));
    targets.tell_record_was(cluster, record, hex("30"));
    journal.work(&targets).unwrap();
    assert_eq!(journal.value("cluster.volume").unwrap(), "4");
    assert!(!journal.last_work().one_way);
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.bytes("cluster", "3B01").unwrap(), "30");

    // A setting that the record held before and after is known from then on.
    let mut targets = Targets::new();
    let mut journal = Journal::new([CLUSTER]);
    targets.choose_record("cluster".parse().unwrap(), "3B01".parse().unwrap(), hex("41"));
    targets.tell_record_was("cluster".parse().unwrap(), "3B01".parse().unwrap(), hex("31"));
    journal.work(&targets).unwrap();
    assert_eq!(journal.value("cluster.chime").unwrap(), "on");
    assert_eq!(journal.put_back(&[2]).unwrap(), 3);
    assert_eq!(journal.bytes("cluster", "3B01").unwrap(), "31");
}

#[test]
fn contents_are_shown_as_they_were() {
    let journal = journal();
    let history = journal.history();
    let held = |setting: &str| history.timeline(&field(setting)).unwrap().current().map(Content::to_string);
    assert_eq!(held("body.speed").unwrap(), "15 km/h");
}
