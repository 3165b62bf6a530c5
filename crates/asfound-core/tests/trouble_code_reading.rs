//! Trouble codes in readings: what is plausible, what points at a common circumstance, what was not examined.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]

mod support;

use asfound_core::definition::Definition;
use asfound_core::entry::Body;
use asfound_core::examination::{ReadingProblem, ReadingRemark};
use asfound_core::situation::Engine;
use asfound_core::suspects::{Circumstance, common_circumstance};
use support::*;

const ENGINE: &str = r#"
format = "asfound-definition/1"
id = "test-engine-1"
title = "Engine module"

[applies_to]
module = "engine"

[records.0E01]
label = "Idle"
length = 1

[[plausibility]]
name = "misfire-needs-a-running-engine"
codes = ["P030?", "P0300-*"]
status = ["testFailed"]
needs = { engine = "running" }
because = "Nothing can misfire in an engine that stands"
source = "common practice, no source"

[[plausibility]]
name = "sensors-need-supply"
codes = ["P06*"]
needs = { supply_voltage = { at_least = 9.5, at_most = 16 }, ignition = "on" }
because = "The sensor supply is not regulated outside this range"
"#;

#[allow(clippy::needless_pass_by_value, reason = "so that a reading can be written where it is examined")]
fn implausible(said: Said) -> Vec<(String, String)> {
    let journal = Journal::new([ENGINE]);
    let examined = journal.examine(&said.reading, true).unwrap();
    let remark = |remark| match remark {
        ReadingRemark::ImplausibleCode { code, against, .. } => Some((code.to_string(), against)),
        _ => None,
    };
    examined.remarks.into_iter().filter_map(remark).collect()
}

#[test]
fn a_misfire_of_an_engine_that_stands_is_remarked_and_kept() {
    let read = |codes: &str| reading().module("engine").codes(codes);
    let told = implausible(read("P0301/2F P0420/2F").engine(Engine::Stopped));
    assert_eq!(told, [("P0301".to_owned(), "the engine was stopped".to_owned())]);
    // Running, not told, or only stored from an earlier drive: nothing speaks against it.
    assert_eq!(implausible(read("P0301/2F").engine(Engine::Running)), []);
    assert_eq!(implausible(read("P0301/2F")), []);
    assert_eq!(implausible(read("P0301/28").engine(Engine::Stopped)), []);
    assert_eq!(implausible(read("P0301").engine(Engine::Stopped)), []);
    let mut journal = Journal::new([ENGINE]);
    journal.read(read("P0301/2F").engine(Engine::Stopped));
    let codes = journal.state().module(&"engine".parse().unwrap()).unwrap().codes.clone().unwrap().codes;
    assert_eq!(codes.len(), 1, "a remark deletes nothing");
}

#[test]
fn the_supply_voltage_counts_both_ways() {
    let read = |volts: &str| implausible(reading().module("engine").codes("P0650 P0420").volts(volts));
    assert_eq!(read("9.4"), [("P0650".to_owned(), "the supply voltage was 9.4 V".to_owned())]);
    assert_eq!(read("16.1").len(), 1);
    for volts in ["9.5", "12", "16"] {
        assert_eq!(read(volts), []);
    }
}

#[test]
fn faults_in_plausibility_rules_are_found_at_once() {
    let text = ENGINE
        .replace("codes = [\"P06*\"]", "codes = []")
        .replace("\"testFailed\"", "\"failed\"")
        .replace("engine = \"running\"", "engine = \"idling\"")
        .replace("sensors-need-supply", "misfire-needs-a-running-engine")
        .replace("at_least = 9.5, at_most = 16", "");
    let problems = Definition::parse(&text).unwrap_err();
    let places: Vec<_> = problems.iter().map(|problem| problem.at.as_str()).collect();
    assert_eq!(
        places,
        [
            "plausibility[1].status[1]",
            "plausibility[1].needs.engine",
            "plausibility[2].name",
            "plausibility[2].codes",
            "plausibility[2].needs.supply_voltage",
        ]
    );
}

fn circumstance(journal: &Journal, said: &Said) -> Option<Circumstance> {
    let body = journal.examine(&said.reading, true).unwrap().body;
    common_circumstance(&journal.state(), &body)
}

#[test]
fn two_signs_together_or_codes_in_many_modules_are_one_circumstance() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("doors").codes("U0100"));
    let of = |said: Said| circumstance(&journal, &said).map(|it| it.signs().len());
    // One sign alone is none.
    assert_eq!(of(reading().module("body").codes("B1000").volts("11.2")), None);
    assert_eq!(of(reading().module("body").codes("B1000").silent("gateway")), None);
    assert_eq!(of(reading().module("body").codes("U0100").module("gateway").codes("U0101")), None);
    // A code that its module had before is not new.
    assert_eq!(of(reading().module("doors").codes("U0100").volts("11.2")), None);
    assert_eq!(of(reading().module("body").codes("U0100").volts("11.2")), Some(2));
    assert_eq!(of(reading().module("body").codes("").silent("gateway").volts("11.99")), Some(2));
    assert_eq!(of(reading().module("body").codes("U0100").silent("gateway").volts("11.99")), Some(3));
    let many =
        reading().module("body").codes("U0100").module("gateway").codes("U0101").module("seat").codes("U0140-87");
    let found = circumstance(&journal, &many.volts("12")).unwrap();
    assert_eq!(found.signs(), ["new communication codes in body, gateway, seat"]);
    assert!(found.accounts_for(&"seat".parse().unwrap(), &"U0140-87".parse().unwrap()));
    assert!(!found.accounts_for(&"seat".parse().unwrap(), &"B1000".parse().unwrap()));
}

#[test]
fn a_module_that_did_not_answer_is_accounted_for_and_keeps_what_is_known() {
    let mut journal = Journal::new([BODY_1, BRAKES]);
    journal.read(reading().module("body").record("0D02", "03 00").module("doors").record("0A01", "01").codes("B1000"));
    let said = reading().module("body").record("0D02", "03 00").silent("doors");
    assert!(journal.examine(&said.reading, false).is_ok());
    journal.read(said);
    let doors = journal.state().module(&"doors".parse().unwrap()).unwrap().clone();
    assert_eq!(doors.codes.unwrap().read, number(2), "not answering is no scan");
    assert_eq!(journal.bytes("doors", "0A01").as_deref(), Some("01"));
    let Body::Reading(body) = &journal.entries[2].body else { panic!() };
    assert!(
        body.situation.did_not_answer.contains("doors".parse::<asfound_core::names::ModuleName>().as_ref().unwrap())
    );

    let both = reading().module("doors").record("0A01", "01").silent("doors");
    let problems = journal.examine(&both.reading, true).unwrap_err();
    assert_eq!(problems, [ReadingProblem::AnsweredAndNot("doors".parse().unwrap())]);
}
