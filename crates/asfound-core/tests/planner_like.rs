//! Making one vehicle like another one, and writing modules that are not what they were.

mod support;

use std::collections::BTreeSet;

use asfound_core::plan::{PlanRefusal, Targets, Write, match_other, plan};
use asfound_core::value::Value;
use support::*;

fn body(record: &str) -> Said {
    reading().module("body").software("0100").record("0D01", record).record("0D02", "03 A0")
}

fn settings(names: &[&str]) -> BTreeSet<asfound_core::names::SettingPath> {
    names.iter().map(|name| path(name)).collect()
}

#[test]
fn values_go_over_by_their_meaning_and_bytes_do_not() {
    // The other car has the second software: everything lies elsewhere.
    let mut other = Journal::new([BODY_2]);
    let said = reading().module("body").software("0200").record("0D01", "A0 06 01 98 A7").record("0D02", "07 01");
    other.read(said.module("gateway").value("light_level", "2"));
    let mut own = Journal::new([BODY_1]);
    own.read(body("43 01 99 44").module("gateway").value("light_level", "1"));
    let chosen = settings(&["body.flashes", "body.fold", "body.fade", "body.speed", "gateway.light_level"]);
    let targets = match_other(&own.history(), &own.definitions, &other.state(), &other.definitions, &chosen).unwrap();
    let planned = own.plan(&targets).unwrap();
    assert!(planned.blocked.is_empty(), "{planned:#?}");
    own.work(&targets).unwrap();
    let values = ["body.flashes", "body.fold", "body.fade", "body.speed", "gateway.light_level"]
        .map(|it| own.value(it).unwrap());
    assert_eq!(values, ["6", "on", "long", "35 km/h", "2"]);
    // What nobody chose stays: the undeclared bits of both records.
    assert_eq!(own.bytes("body", "0D01").unwrap(), "4E 02 99 50");
    assert_eq!(own.bytes("body", "0D02").unwrap(), "07 A0");
    // It is an alteration like any other and can be taken back.
    own.put_back(&[3]).unwrap();
    assert_eq!(own.bytes("body", "0D01").unwrap(), "43 01 99 44");
    // Where both are alike already there is nothing to do.
    let same = match_other(&own.history(), &own.definitions, &own.state(), &own.definitions, &chosen).unwrap();
    assert_eq!(own.plan(&same), Err(PlanRefusal::Nothing));
}

#[test]
fn what_cannot_be_the_same_is_blocked_with_the_reason_and_the_rest_is_planned() {
    let mut other = Journal::new([BODY_1, CLUSTER]);
    // Fade `slow` is no value of the second software; coded 7 has no meaning.
    other.read(body("4A 06 99 50").module("cluster").record("3B01", "31").module("seat").value("height", "4"));
    let mut own = Journal::new([BODY_2, CLUSTER]);
    own.read(reading().module("body").software("0200").record("0D01", "A0 05 00 98 A5").record("0D02", "03 00"));
    let chosen = settings(&["body.flashes", "body.fade", "cluster.chime", "seat.height", "body.horn"]);
    let targets = match_other(&own.history(), &own.definitions, &other.state(), &other.definitions, &chosen).unwrap();
    let planned = plan(&own.history(), &own.definitions, &targets).unwrap();
    assert_eq!(planned.steps.len(), 1);
    assert!(matches!(&planned.steps[0].write, Write::Record { write, .. } if *write == hex("A0 02 00 98 A2")));
    let blocked: Vec<(String, &str)> = planned.blocked.iter().map(|it| (it.field.to_string(), &it.why[..])).collect();
    let reasons = [
        ("body.fade", "slow"),
        ("body.horn", "nothing is known of it on the other vehicle"),
        ("cluster.chime", "nothing is known of it on this vehicle"),
        ("seat.height", "nothing is known of it on this vehicle"),
    ];
    assert_eq!(blocked.len(), reasons.len(), "{blocked:?}");
    for ((field, why), (expected, reason)) in blocked.iter().zip(reasons) {
        assert!(field == expected && why.contains(reason), "{field}: {why}");
    }
    // Where everything is blocked, the plan still says so.
    let targets =
        match_other(&own.history(), &own.definitions, &other.state(), &other.definitions, &settings(&["body.fade"]));
    let planned = own.plan(&targets.unwrap()).unwrap();
    assert_eq!((planned.steps.len(), planned.blocked.len()), (0, 1));
}

#[test]
fn bits_without_a_meaning_do_not_go_over() {
    let mut other = Journal::new([BODY_1]);
    other.read(body("42 0F 99 51"));
    let mut own = Journal::new([BODY_1]);
    own.read(body("43 01 99 44"));
    let chosen = settings(&["body.fade"]);
    let targets = match_other(&own.history(), &own.definitions, &other.state(), &other.definitions, &chosen).unwrap();
    let planned = own.plan(&targets).unwrap();
    assert!(planned.steps.is_empty() && planned.blocked[0].why.contains("nobody knows"), "{planned:#?}");
}

#[test]
fn chosen_values_are_a_wish_like_any_other() {
    let mut own = Journal::new([BODY_1]);
    own.read(body("43 01 99 44"));
    let values = [(path("body.flashes"), Value::Integer(5)), (path("body.fold"), Value::Switch(true))];
    let planned = own.plan(&Targets::setting_values(values)).unwrap();
    assert_eq!(planned, own.plan(&own.targets(&[("body.fold", "on"), ("body.flashes", "5")])).unwrap());
}

/// Part number, hardware or software differ: the same settings are written where the definition that fits now has them,
/// or the field is blocked; nothing is written raw.
#[test]
fn another_unit_is_written_through_the_definition_that_fits_it() {
    let second = BODY_2.replace("software = { from = \"0200\" }", "part_number = [\"P2\"]");
    let first = BODY_1.replace("software = { below = \"0200\" }", "part_number = [\"P1\"]");
    let mut journal = Journal::new([&first[..], &second]);
    journal.read(body("43 01 99 44").part_number("P1"));
    journal.change(&[("body.flashes", "5"), ("body.fold", "on"), ("body.fade", "none")]);
    journal.change_record("body", "0D02", "03 5F");
    let unit = reading().module("body").part_number("P2").record("0D01", "A0 05 00 98 A5").record("0D02", "03 5F");
    journal.read(unit);
    let planned = journal.put_back_plan(&[3, 4]).unwrap();
    let written: Vec<String> = planned
        .steps
        .iter()
        .map(|step| match &step.write {
            Write::Record { write, .. } => write.to_string(),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(written, ["A0 03 00 98 A3", "03 5E"], "flashes 3 and fold off where the second unit has them");
    assert!(planned.steps.iter().all(|step| step.definition.as_ref().is_some_and(|id| id.as_str() == "test-body-2")));
    let blocked: Vec<String> = planned.blocked.iter().map(|it| it.field.to_string()).collect();
    assert_eq!(blocked, ["body:0D02 byte 1 (undeclared)"]);
    assert!(planned.blocked[0].why.contains("entry 5"), "{}", planned.blocked[0].why);

    // No definition fits a third unit: nothing is written to it.
    journal.read(reading().module("body").part_number("P3").record("0D01", "43 05").record("0D02", "03 5F"));
    match journal.put_back_plan(&[3, 4]) {
        Ok(planned) => {
            assert!(planned.steps.iter().all(|step| matches!(step.write, Write::ByName { .. })), "{planned:#?}");
        }
        Err(refusal) => assert!(matches!(refusal, PlanRefusal::NoWayBack(_)), "{refusal:?}"),
    }
}
