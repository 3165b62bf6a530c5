//! The steps of a plan: what they expect, what they write, and what they leave alone.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::plan::{PlanRefusal, Targets, Write, corrected};
use asfound_core::value::Value;
use support::*;

fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, CLUSTER]);
    journal.read(
        reading()
            .module("body")
            .software("0100")
            .record("0D01", "43 04 99 47")
            .record("0D02", "03 A0")
            .module("cluster")
            .record("3B01", "31")
            .module("gateway")
            .value("light_level", "1"),
    );
    journal
}

#[test]
fn all_settings_of_a_record_are_one_write() {
    let journal = journal();
    let plan = journal
        .plan(&journal.targets(&[
            ("body.flashes", "5"),
            ("body.fold", "on"),
            ("body.speed", "15"),
            ("cluster.chime", "off"),
        ]))
        .unwrap();
    assert_eq!(plan.stands_on, number(2));
    let steps: Vec<_> = plan.steps.iter().map(|step| (step.module.as_str(), &step.write)).collect();
    let [("body", Write::Record { expect, write, volatile, .. }), ("cluster", Write::Record { write: second, .. })] =
        steps[..]
    else {
        panic!("{steps:?}")
    };
    assert_eq!((expect, write), (&hex("43 04 99 47"), &hex("4D 04 99 51")));
    assert_eq!(volatile.to_string(), "byte 2");
    assert_eq!(second, &hex("30"));
    // 15 km/h it was.
    assert_eq!(plan.settled, [field("body.speed")]);
    let settings: Vec<_> = plan.steps[0]
        .settings
        .iter()
        .map(|setting| {
            (setting.setting.as_str(), setting.found.as_ref().unwrap().to_string(), setting.left.to_string())
        })
        .collect();
    assert_eq!(settings, [("flashes", "3".to_owned(), "5".to_owned()), ("fold", "off".to_owned(), "on".to_owned())]);
    assert!(plan.steps.iter().all(|step| step.undeclared.is_empty()));
}

/// Coded 4 and coded 2 are both called `long`: who asks for `long` has it already.
#[test]
fn what_reads_as_wanted_is_left_alone() {
    let journal = journal();
    assert_eq!(journal.plan(&journal.targets(&[("body.fade", "long")])), Err(PlanRefusal::Nothing));
    assert_eq!(journal.plan(&Targets::new()), Err(PlanRefusal::Nothing));
}

/// Bytes that change by themselves are no reason to write; a checksum that is wrong by itself is one, where the wish touches
/// the record.
#[test]
fn a_record_that_is_right_already_is_not_written() {
    let mut journal = journal();
    journal.read(reading().module("body").record("0D01", "43 04 99 47"));
    assert_eq!(journal.plan(&journal.targets(&[("body.flashes", "3")])), Err(PlanRefusal::Nothing));
    let mut targets = Targets::new();
    targets.choose_record("body".parse().unwrap(), "0D01".parse().unwrap(), hex("43 04 12 00"));
    assert_eq!(journal.plan(&targets), Err(PlanRefusal::Nothing));

    journal.read(reading().module("body").record("0D01", "43 04 99 00"));
    let wishes = [journal.targets(&[("body.flashes", "3")]), targets];
    for (wish, volatile) in wishes.iter().zip(["99", "12"]) {
        let plan = journal.plan(wish).unwrap();
        let [step] = &plan.steps[..] else { panic!("{plan:#?}") };
        let (expected, wanted) = (hex("43 04 99 00"), hex(&format!("43 04 {volatile} 47")));
        assert!(matches!(&step.write, Write::Record { expect, write, .. } if *expect == expected && *write == wanted));
        assert!(step.settings.is_empty() && step.undeclared.is_empty());
        let remark = "The record's checksum is wrong as found: it is 00, by the definition it should be 47. The write has \
                      the right one.";
        assert_eq!(step.remarks, [remark]);
    }
    // A wish that does not touch the record leaves it alone, and so does a correction, which tells what is there.
    let plan = journal.plan(&journal.targets(&[("gateway.light_level", "2")])).unwrap();
    assert_eq!(plan.steps.len(), 1);
    let told = corrected(&journal.history(), &journal.definitions, &wishes[0]).unwrap();
    assert!(told.records.is_empty());
    // The entry tells of the record, which has no alteration that could be put back.
    let entry = journal.work(&wishes[0]).unwrap();
    assert_eq!(journal.last_work().effects.records[0].left, hex("43 04 99 47"));
    assert_eq!(journal.plan(&wishes[0]), Err(PlanRefusal::Nothing));
    assert_eq!(journal.put_back_plan(&[entry]), Err(PlanRefusal::NothingIn(number(entry))));
    journal.read(reading().module("body").record("0D01", "43 04 99 00"));
    // Once something is written, the checksum is set right with it.
    let plan = journal.plan(&journal.targets(&[("body.flashes", "5"), ("body.speed", "15")])).unwrap();
    assert!(
        matches!(&plan.steps[..], [step] if matches!(&step.write, Write::Record { write, .. } if *write == hex("45 04 99 49")))
    );
}

#[test]
fn values_that_cannot_be_are_refused() {
    let journal = journal();
    for (setting, value) in
        [("body.flashes", Value::Integer(0)), ("body.flashes", Value::Integer(8)), ("body.fold", Value::Integer(1))]
    {
        let mut targets = Targets::new();
        targets.choose(field(setting), value.clone());
        assert!(matches!(journal.plan(&targets), Err(PlanRefusal::CannotSet { .. })), "{value}");
    }
    let mut targets = Targets::new();
    targets.choose_record("body".parse().unwrap(), "0D02".parse().unwrap(), hex("03"));
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::Length { expected: 2, found: 1, .. })));
    targets = Targets::new();
    targets.choose_record("gateway".parse().unwrap(), "1C01".parse().unwrap(), hex("03"));
    targets.tell_record_was("gateway".parse().unwrap(), "1C01".parse().unwrap(), hex("03 04"));
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::Length { expected: 2, found: 1, .. })));
    targets = Targets::new();
    targets.choose_record("body".parse().unwrap(), "0D02".parse().unwrap(), hex("04 A0"));
    targets.tell_record_was("body".parse().unwrap(), "0D02".parse().unwrap(), hex("03 A1"));
    assert!(matches!(journal.plan(&targets), Err(PlanRefusal::OtherThanKnown { .. })));
}

/// A rule that looks at a module without a definition compares what is known of it by name.
#[test]
fn a_rule_holds_across_modules_also_where_one_is_known_by_name_alone() {
    let mut journal = journal();
    let loud = [("cluster.volume", "9")];
    let Err(PlanRefusal::BreaksRules(breaches)) = journal.plan(&journal.targets(&loud)) else {
        panic!("the light level is 1")
    };
    assert_eq!(breaches.len(), 1);
    assert_eq!(breaches[0].rule.as_str(), "loud-chime-needs-light");
    let settings: Vec<String> = breaches[0].settings.iter().map(|(path, value)| format!("{path} {value}")).collect();
    assert_eq!(settings, ["cluster.volume 9", "gateway.light_level 1"]);
    // With the light it is allowed, and the light comes first, though the cluster's name does.
    let both = [("cluster.volume", "9"), ("gateway.light_level", "2")];
    let plan = journal.plan(&journal.targets(&both)).unwrap();
    let order: Vec<&str> = plan.steps.iter().map(|step| step.module.as_str()).collect();
    assert_eq!(order, ["gateway", "cluster"]);
    journal.change(&both);
    // And back the other way round.
    let plan = journal.put_back_plan(&[3]).unwrap();
    let order: Vec<&str> = plan.steps.iter().map(|step| step.module.as_str()).collect();
    assert_eq!(order, ["cluster", "gateway"]);
    assert_eq!(plan.broken_before, []);
}

/// A rule that was broken before stays the owner's business: it does not stop other work, and it is named.
#[test]
fn a_rule_that_was_broken_before_does_not_stop_other_work() {
    let mut journal = journal();
    journal.read(reading().module("cluster").record("3B01", "91"));
    let plan = journal.plan(&journal.targets(&[("cluster.chime", "off")])).unwrap();
    assert_eq!(plan.steps.len(), 1);
    assert_eq!(plan.broken_before.len(), 1);
}

/// Two definitions may each have a rule of the same name; only the one that would be broken is named.
#[test]
fn a_breach_is_told_from_a_rule_of_the_same_name() {
    let other = r#"
format = "asfound-definition/1"
id = "test-climate"
title = "Climate"
[applies_to]
module = "climate"
[records.4C01]
label = "Fan"
length = 1
[settings.fan]
label = "Fan"
record = "4C01"
byte = 0
type = "integer"
tags = ["climate"]
[[rules]]
name = "loud-chime-needs-light"
when = { fan = 1 }
needs = { "gateway.light_level" = 7 }
because = "Invented"
"#;
    let mut journal = journal();
    journal.define(other);
    journal.read(reading().module("climate").record("4C01", "01"));
    let Err(PlanRefusal::BreaksRules(breaches)) = journal.plan(&journal.targets(&[("cluster.volume", "9")])) else {
        panic!("the light level is 1")
    };
    assert_eq!(breaches.len(), 1, "{breaches:?}");
    assert_eq!(breaches[0].settings[0].0, path("cluster.volume"));
}

#[test]
fn the_entry_holds_what_the_steps_did() {
    let mut journal = journal();
    journal.change(&[("gateway.light_level", "2"), ("body.flashes", "5"), ("body.speed", "20")]);
    let work = journal.last_work();
    let settings: Vec<String> = work.settings.iter().map(ToString::to_string).collect();
    assert_eq!(settings, ["body.flashes", "body.speed", "gateway.light_level"]);
    assert_eq!((work.effects.records.len(), work.effects.stated.len(), work.one_way), (2, 1, false));
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "45 04 99 49");
    assert_eq!(journal.value("gateway.light_level").unwrap(), "2");
}
