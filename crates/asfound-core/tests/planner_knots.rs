//! Plans where no order of single writes is safe, and what is said where there is no plan at all.

mod support;

use asfound_core::plan::{Allowance, Plan, PlanRefusal, RuleCycle, Write};
use asfound_core::safety::SafetyClass;
use support::*;

/// A light unit with `mode` and `lamp` in one record and `change_layout` in another, and a switch in a record by itself.
const LIGHT: &str = r#"
format = "asfound-definition/1"
id = "test-light"
title = "Light unit"

[applies_to]
module = "light"

[records.5A01]
label = "Lamps"
length = 3
checksum = { at = 2, over = "0-1", kind = "sum" }

[records.5A02]
label = "Relay"
length = 1

[records.5A03]
label = "Supply"
length = 1

[settings.mode]
label = "Mode"
record = "5A01"
byte = 0
type = "choice"
choices = { plain = 0, linked = 1, service = 2 }
tags = ["comfort"]

[settings.lamp]
label = "Lamp"
record = "5A01"
byte = 1
bits = 1
type = "switch"
tags = ["comfort"]

[settings.relay]
label = "Relay"
record = "5A02"
byte = 0
type = "switch"
bits = 1
tags = ["comfort"]

[settings.supply]
label = "Supply"
record = "5A03"
byte = 0
bits = 2
type = "choice"
choices = { off = 0, low = 1, high = 2 }
tags = ["comfort"]
"#;

fn light(rules: &str) -> Journal {
    let mut journal = Journal::new([&format!("{LIGHT}\n{rules}")[..], BRAKES]);
    let said = reading().module("light").record("5A01", "00 00 77").record("5A02", "00").record("5A03", "00");
    journal.read(said.module("brakes").record("2A01", "00 00"));
    journal
}

/// Module, bytes as left, and whether the step leaves something in between.
fn steps(plan: &Plan) -> Vec<(String, String, bool)> {
    let written = |write: &Write| match write {
        Write::Record { write, .. } | Write::BlindRecord { write, .. } => write.to_string(),
        Write::ByName { write, .. } => write.clone(),
    };
    plan.steps.iter().map(|it| (it.module.to_string(), written(&it.write), it.intermediate.is_some())).collect()
}

fn knot(refusal: Result<Plan, PlanRefusal>) -> RuleCycle {
    match refusal {
        Err(PlanRefusal::Knot(knot)) => knot,
        other => panic!("no knot: {other:#?}"),
    }
}

fn words<T: ToString>(list: &[T]) -> Vec<String> {
    list.iter().map(ToString::to_string).collect()
}

/// The lamp has to be on before the relay, the relay before the mode; lamp and mode are in one record.
const LAMP_RELAY_MODE: &str = r#"
[[rules]]
name = "relay-needs-lamp"
when = { relay = "on" }
needs = { lamp = "on" }
because = "Invented"

[[rules]]
name = "linked-needs-relay"
when = { mode = "linked" }
needs = { relay = "on" }
because = "Invented"
"#;

#[test]
fn a_record_is_written_twice_where_one_write_would_break_a_rule() {
    let mut journal = light(LAMP_RELAY_MODE);
    let wanted = [("light.lamp", "on"), ("light.mode", "linked"), ("light.relay", "on")];
    let plan = journal.plan(&journal.targets(&wanted)).unwrap();
    let expected = [("light", "00 01 01", true), ("light", "01", false), ("light", "01 01 02", false)];
    assert_eq!(steps(&plan), expected.map(|(module, bytes, between)| (module.to_owned(), bytes.to_owned(), between)));
    let intermediate = plan.steps[0].intermediate.as_ref().unwrap();
    assert_eq!(words(&intermediate.rules), ["relay-needs-lamp", "linked-needs-relay"]);
    assert!(intermediate.for_a_time.is_empty(), "both values are asked for or were there");
    // The second write expects what the first left, not what was found.
    assert!(matches!(&plan.steps[2].write, Write::Record { expect, .. } if *expect == hex("00 01 01")));
    assert!(matches!(&plan.steps[0].write, Write::Record { expect, .. } if *expect == hex("00 00 77")));

    // The entry tells of one alteration of the record, and it can be put back, which needs two writes again.
    journal.change(&wanted);
    assert_eq!(journal.last_work().effects.records.len(), 2);
    assert_eq!(words(&journal.last_work().settings), ["light.lamp", "light.mode", "light.relay"]);
    let plan = journal.put_back_plan(&[3]).unwrap();
    let expected = [("light", "00 01 01", true), ("light", "00", false), ("light", "00 00 00", false)];
    assert_eq!(steps(&plan), expected.map(|(module, bytes, between)| (module.to_owned(), bytes.to_owned(), between)));
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.value("light.mode").unwrap(), "plain");
}

/// `plain` and `linked` may each stand only with one state of the relay; `service` may stand with both.
#[test]
fn a_value_that_nobody_asked_for_is_used_for_a_time_only_where_nothing_else_will_do() {
    let rules = r#"
[[rules]]
name = "linked-needs-relay"
when = { mode = "linked" }
needs = { relay = "on" }
because = "Invented"

[[rules]]
name = "plain-needs-no-relay"
when = { mode = "plain" }
needs = { relay = "off" }
because = "Invented"
"#;
    let journal = light(rules);
    let plan = journal.plan(&journal.targets(&[("light.mode", "linked"), ("light.relay", "on")])).unwrap();
    let expected = [("light", "02 00 02", true), ("light", "01", false), ("light", "01 00 01", false)];
    assert_eq!(steps(&plan), expected.map(|(module, bytes, between)| (module.to_owned(), bytes.to_owned(), between)));
    let intermediate = plan.steps[0].intermediate.as_ref().unwrap();
    assert_eq!(words(&intermediate.for_a_time), ["mode"]);
    assert_eq!(words(&intermediate.rules), ["linked-needs-relay", "plain-needs-no-relay"]);
    // Without the relay's rule there is a plan without it, and it is taken.
    let journal = light(rules.split("[[rules]]").nth(1).map(|rule| format!("[[rules]]{rule}")).as_deref().unwrap());
    let plan = journal.plan(&journal.targets(&[("light.mode", "linked"), ("light.relay", "on")])).unwrap();
    assert!(plan.steps.len() == 2 && plan.steps.iter().all(|step| step.intermediate.is_none()));
}

/// Lamp and relay may be switched only together, unless the supply is on: a third setting that nothing is wanted of.
const TOGETHER: &str = r#"
[[rules]]
name = "lamp-needs-relay"
when = { lamp = "on", supply = "off" }
needs = { relay = "on" }
because = "Invented"

[[rules]]
name = "relay-needs-lamp"
when = { relay = "on", supply = { one_of = ["off", "low"] } }
needs = { lamp = "on" }
because = "Invented"

[[rules]]
name = "service-needs-supply"
when = { mode = "service" }
needs = { supply = "high" }
because = "Invented"
"#;

#[test]
fn a_knot_is_named_with_what_would_untie_it() {
    let mut journal = light(TOGETHER);
    let mut targets = journal.targets(&[("light.lamp", "on"), ("light.relay", "on"), ("light.mode", "linked")]);
    let refusal = journal.plan(&targets);
    let hint = refusal.as_ref().unwrap_err().hint().unwrap();
    let found = knot(refusal);
    assert_eq!(words(&found.rules), ["lamp-needs-relay", "relay-needs-lamp"]);
    assert_eq!(words(&found.settings), ["light.lamp", "light.relay"]);
    assert_eq!(found.allow, [Allowance::AlterForATime { setting: path("light.supply") }]);
    assert!(!found.bounded);
    assert_eq!(hint, "let light.supply be altered for a time as well");
    // Once it is allowed there is a plan: the supply goes up, lamp and relay in either order, and it goes down again.
    targets.allow_for_a_time(path("light.supply"));
    let plan = journal.plan(&targets).unwrap();
    let expected =
        [("light", "01", true), ("light", "01 01 02", false), ("light", "01", false), ("light", "00", false)];
    assert_eq!(steps(&plan), expected.map(|(module, bytes, between)| (module.to_owned(), bytes.to_owned(), between)));
    assert_eq!(words(&plan.steps[0].intermediate.as_ref().unwrap().for_a_time), ["supply"]);
    journal.work(&targets).unwrap();
    // The entry tells nothing of what came back.
    assert_eq!(words(&journal.last_work().settings), ["light.lamp", "light.mode", "light.relay"]);
    assert_eq!(journal.bytes("light", "5A03").unwrap(), "00");
    assert_eq!(journal.last_work().effects.records.len(), 2);
}

#[test]
fn what_may_be_altered_for_a_time_is_left_alone_where_it_is_not_needed() {
    let journal = light(LAMP_RELAY_MODE);
    let mut targets = journal.targets(&[("light.lamp", "on"), ("light.relay", "on")]);
    targets.allow_for_a_time(path("light.supply"));
    assert_eq!(journal.plan(&targets).unwrap().steps.len(), 2);
}

/// The rule asks for a restricted setting first, and restricted steps come last.
#[test]
fn a_knot_with_a_restricted_step_says_so() {
    let journal = light(
        r#"
[[rules]]
name = "lamp-needs-hill-hold"
when = { lamp = "on" }
needs = { "brakes.hill_hold" = "on" }
because = "Invented"
"#,
    );
    let found = knot(journal.plan(&journal.targets(&[("light.lamp", "on"), ("brakes.hill_hold", "on")])));
    assert_eq!(words(&found.rules), ["lamp-needs-hill-hold"]);
    assert_eq!(words(&found.settings), ["brakes.hill_hold", "light.lamp"]);
    assert_eq!(found.allow, [Allowance::RestrictedByItself]);
    // One after the other it can be done.
    let mut journal = journal;
    journal.change(&[("brakes.hill_hold", "on")]);
    journal.change(&[("light.lamp", "on")]);
    // Both put back: the lamp first, which is as it should be.
    let plan = journal.put_back_plan(&[3, 4]).unwrap();
    let order: Vec<&str> = plan.steps.iter().map(|step| step.module.as_str()).collect();
    assert_eq!(order, ["light", "brakes"]);
}

#[test]
fn a_restricted_write_says_what_rides_along() {
    let journal = light("");
    let plan = journal.plan(&journal.targets(&[("brakes.hill_hold", "on"), ("light.lamp", "on")])).unwrap();
    assert_eq!((plan.steps[1].class, plan.steps[1].remarks.len()), (SafetyClass::Restricted, 1));
    assert!(plan.steps[1].remarks[0].contains("brakes.hill_hold (routine)"), "{:?}", plan.steps[1].remarks);
    assert!(plan.steps[0].remarks.iter().all(|remark| remark.contains("checksum")), "{:?}", plan.steps[0].remarks);
}

/// Of a broken rule, another need may not fail as well; of groups that exclude each other, no third may join.
#[test]
fn a_broken_rule_is_reported_and_not_made_worse() {
    let rules = r#"
[[rules]]
name = "linked-needs-both"
when = { mode = "linked" }
needs = { lamp = "on", relay = "on" }
because = "Invented"

[[rules]]
name = "one-at-most"
exclusive = [{ mode = "linked" }, { supply = "low" }, { supply = "high" }]
because = "Invented"
"#;
    let mut journal = light(rules);
    journal.read(reading().module("light").record("5A01", "01 00 01").record("5A02", "01").record("5A03", "01"));
    // Both rules are broken: the lamp is off, and the supply is low.
    let plan = journal.plan(&journal.targets(&[("light.lamp", "on")])).unwrap();
    assert_eq!(
        words(&plan.broken_before.iter().map(|it| it.rule.clone()).collect::<Vec<_>>()),
        ["linked-needs-both", "one-at-most"]
    );
    for worse in [("light.relay", "off"), ("light.supply", "high")] {
        let Err(PlanRefusal::BreaksRules(breaches)) = journal.plan(&journal.targets(&[worse])) else {
            panic!("{worse:?} makes it worse")
        };
        assert_eq!(breaches.len(), 1);
    }
    // With the lamp on first, the relay may not go off even for a time: mode comes first.
    let plan = journal.plan(&journal.targets(&[("light.relay", "off"), ("light.mode", "plain")])).unwrap();
    let order: Vec<String> = steps(&plan).into_iter().map(|(_, bytes, _)| bytes).collect();
    assert_eq!(order, ["00 00 00", "00"]);
}

/// The checksum that is wrong in the vehicle is expected as it is, and set right with the first write.
#[test]
fn a_setting_of_the_same_record_may_be_altered_for_a_time() {
    let rules = r#"
[[rules]]
name = "lamp-needs-relay"
when = { lamp = "on", mode = "plain" }
needs = { relay = "on" }
because = "Invented"
"#;
    let back = r#"
[[rules]]
name = "relay-needs-lamp"
when = { relay = "on", mode = { one_of = ["plain", "linked"] } }
needs = { lamp = "on" }
because = "Invented"
"#;
    let journal = light(&format!("{rules}\n{back}"));
    let mut targets = journal.targets(&[("light.lamp", "on"), ("light.relay", "on")]);
    let found = knot(journal.plan(&targets));
    assert_eq!(found.allow, [Allowance::AlterForATime { setting: path("light.mode") }]);
    targets.allow_for_a_time(path("light.mode"));
    let plan = journal.plan(&targets).unwrap();
    let steps = steps(&plan);
    assert_eq!(steps.len(), 3, "{steps:?}");
    assert_eq!(steps.iter().filter(|(_, _, between)| *between).count(), 1);
    assert!(matches!(&plan.steps[0].write, Write::Record { expect, .. } if *expect == hex("00 00 77")), "{plan:#?}");
    assert_eq!(steps.last().unwrap().1, "00 01 01", "the mode has come back");
}

/// The knot among so many settings of eight values each: none may leave 0 unless the first has, nor the first unless
/// all have.
fn circle(count: usize) -> RuleCycle {
    let mut text =
        "format = \"asfound-definition/1\"\nid = \"test-many\"\ntitle = \"Many\"\n[applies_to]\nmodule = \"many\"\n"
            .to_owned();
    let (mut said, mut wanted) = (reading().module("many"), Vec::new());
    let mut rules = String::new();
    for at in 0..count {
        text.push_str(&format!(
            "[records.6A0{at}]\nlabel = \"Record\"\nlength = 1\n[settings.s{at}]\nlabel = \"Setting\"\nrecord = \"6A0{at}\"\n\
             byte = 0\nbits = 3\ntype = \"integer\"\ntags = [\"comfort\"]\n"
        ));
        said = said.record(&format!("6A0{at}"), "00");
        wanted.push(format!("many.s{at}"));
        if at > 0 {
            rules.push_str(&format!(
                "[[rules]]\nname = \"there-{at}\"\nwhen = {{ s0 = {{ at_least = 1 }} }}\nneeds = {{ s{at} = 1 }}\n\
                 because = \"Invented\"\n[[rules]]\nname = \"back-{at}\"\nwhen = {{ s{at} = 1 }}\n\
                 needs = {{ s0 = {{ at_least = 1 }} }}\nbecause = \"Invented\"\n"
            ));
        }
    }
    let mut journal = Journal::new([&(text + &rules)[..]]);
    journal.read(said);
    let wanted: Vec<(&str, &str)> = wanted.iter().map(|path| (&path[..], "1")).collect();
    knot(journal.plan(&journal.targets(&wanted)))
}

#[test]
fn a_search_that_ends_at_its_bound_says_so() {
    // 5.7 million contents together are more than are looked at.
    let found = circle(9);
    assert!(found.bounded);
    assert_eq!((found.rules.len(), found.settings.len()), (16, 9));
    // Few settings are looked through in full, the knot is certain, and two of its four rules make it.
    let found = circle(3);
    assert!(!found.bounded);
    assert_eq!(words(&found.rules), ["there-2", "back-2"]);
    assert_eq!(words(&found.settings), ["many.s0", "many.s2"]);
}
