//! The planner against an exhaustive search over all orders and values on the way, on random vehicles with rules.

#![allow(clippy::print_stdout, reason = "how many cases were compared is part of the result")]

mod cases;
mod oracle;
#[path = "../support/mod.rs"]
mod support;

use asfound_core::plan::{Plan, PlanRefusal, Step, Targets, Write, plan};
use asfound_core::safety::SafetyClass;
use cases::{Codes, Dice, MODULES, Vehicle, name};
use oracle::{Answer, answer, safe, size, writables};
use support::{Journal, field, reading};

/// The most contents of all records of a phase together that a case may have, so that going through all of them is quick.
const MOST: usize = 700;

/// A journal with the definitions, and nothing read yet.
fn journal(vehicle: &Vehicle) -> Journal {
    let texts: Vec<String> = (0..MODULES.len()).filter_map(|module| vehicle.definition(module)).collect();
    Journal::new(texts.iter().map(String::as_str))
}

/// The journal with a reading of everything that is known.
fn filed(blank: &Journal, vehicle: &Vehicle, found: &Codes) -> Journal {
    let mut said = reading();
    for (record, (module, _, by_name)) in vehicle.records.iter().enumerate() {
        said = said.module(MODULES[*module]);
        let here = (0..found.len()).filter(|at| vehicle.settings[*at].record == record);
        let Some(codes) = here.clone().map(|at| found[at]).collect::<Option<Vec<u8>>>() else { continue };
        if *by_name {
            for (at, code) in here.zip(codes) {
                said = said.value(&name(at), &vehicle.settings[at].kind.text(code));
            }
        } else {
            let bytes: Vec<String> = codes.iter().map(|code| format!("{code:02X}")).collect();
            said = said.record(&format!("00{record:02X}"), &bytes.join(" "));
        }
    }
    let mut journal = blank.clone();
    journal.read(said);
    journal
}

/// Makes the writes of a plan on a model of the vehicle: each finds what it expects, leaves every rule as it should, and
/// in the end everything is as wanted. Gives how many leave a value that was neither found nor is wanted.
fn carry_out(vehicle: &Vehicle, plan: &Plan, found: &Codes, wanted: &Codes) -> usize {
    let mut now = found.clone();
    let mut invented = 0;
    for (at, step) in plan.steps.iter().enumerate() {
        let before = now.clone();
        make(vehicle, step, &mut now);
        assert!(safe(vehicle, found, &now), "step {at} breaks a rule: {step:#?}");
        let changed: Vec<usize> = (0..now.len()).filter(|at| now[*at] != before[*at]).collect();
        let named: Vec<String> = step.settings.iter().map(|it| it.setting.to_string()).collect();
        let mut expected: Vec<String> = changed.iter().map(|at| name(*at)).collect();
        expected.sort();
        assert_eq!(named, expected);
        let settings = writables(vehicle, found, wanted, step.class == SafetyClass::Restricted);
        let written = settings.iter().find(|all| all.contains(&changed[0])).expect("it is to be altered");
        let last = written.iter().all(|at| now[*at] == wanted[*at]);
        assert_eq!(step.intermediate.is_none(), last, "{step:#?}");
        let other = written.iter().filter(|at| now[**at] != found[**at] && now[**at] != wanted[**at]);
        let mut other: Vec<String> = other.map(|at| name(*at)).collect();
        other.sort();
        let mut for_a_time: Vec<String> =
            step.intermediate.iter().flat_map(|it| it.for_a_time.iter().map(ToString::to_string)).collect();
        for_a_time.sort();
        assert_eq!(for_a_time, other);
        invented += usize::from(!other.is_empty());
    }
    assert_eq!(now, *wanted);
    let restricted: Vec<bool> = plan.steps.iter().map(|step| step.class == SafetyClass::Restricted).collect();
    assert!(restricted.is_sorted(), "restricted steps come last: {restricted:?}");
    invented
}

fn make(vehicle: &Vehicle, step: &Step, now: &mut Codes) {
    let in_module = |at: &usize| MODULES[vehicle.settings[*at].module] == step.module.as_str();
    match &step.write {
        Write::Record { record, expect, write, .. } => {
            let number = usize::from(record.identifier().expect("records are numbered"));
            for at in (0..now.len()).filter(in_module).filter(|at| vehicle.settings[*at].record == number) {
                let byte = vehicle.settings[at].byte;
                assert_eq!(now[at], Some(expect.as_slice()[byte]), "what is expected is there");
                now[at] = Some(write.as_slice()[byte]);
            }
        }
        Write::ByName { setting, expect, write } => {
            let at = (0..now.len()).find(|at| name(*at) == setting.as_str()).expect("a setting");
            let kind = vehicle.settings[at].kind;
            let unit = if kind == cases::Kind::Quantity { " km/h" } else { "" };
            let text = |code: u8| format!("{}{unit}", kind.text(code));
            // As found it was written without its unit.
            let expected = expect.as_deref().map(|text| text.trim_end_matches(unit));
            assert_eq!(expected, now[at].map(|code| kind.text(code)).as_deref());
            now[at] = (0..kind.values()).find(|code| text(*code) == *write);
        }
        Write::BlindRecord { .. } => panic!("every record is known"),
    }
}

/// How many cases had which answer.
#[derive(Debug, Default)]
struct Tally {
    single: usize,
    split_writes: usize,
    inventing: usize,
    knots: usize,
    breaking: usize,
    nothing: usize,
    most_writes: usize,
}

impl Tally {
    fn ordered(&self) -> usize {
        self.single + self.split_writes + self.knots
    }
}

fn wish(vehicle: &Vehicle, journal: &Journal, found: &Codes, wanted: &Codes, tally: &mut Tally) {
    let mut targets = Targets::new();
    for at in (0..found.len()).filter(|at| wanted[*at].is_some()) {
        let text = vehicle.settings[at].kind.text(wanted[at].expect("known"));
        let path = vehicle.path(at);
        targets.choose(field(&path), journal.value_of(&path, &text));
    }
    let planned = plan(&journal.history(), &journal.definitions, &targets);
    let answer = answer(vehicle, found, wanted);
    let shown = || format!("{vehicle:#?}\n{found:?}\n{wanted:?}\n{planned:#?}\n{answer:?}");
    match (&planned, answer) {
        (Ok(plan), Answer::Writes(writes, invented)) => {
            assert_eq!(plan.steps.len(), writes, "the fewest writes: {}", shown());
            assert_eq!(carry_out(vehicle, plan, found, wanted), invented, "the fewest values: {}", shown());
            let least = [false, true].map(|it| writables(vehicle, found, wanted, it).len()).iter().sum::<usize>();
            tally.single += usize::from(writes == least);
            tally.split_writes += usize::from(writes > least);
            tally.inventing += usize::from(invented > 0);
            tally.most_writes = tally.most_writes.max(writes);
        }
        (Err(PlanRefusal::Knot(knot)), Answer::NoOrder) => {
            assert!(!knot.bounded && !knot.rules.is_empty() && !knot.settings.is_empty(), "{}", shown());
            tally.knots += 1;
            minimal(vehicle, found, wanted, knot);
        }
        (Err(PlanRefusal::BreaksRules(_)), Answer::BreaksRules) => tally.breaking += 1,
        (Err(PlanRefusal::Nothing), Answer::Nothing) => tally.nothing += 1,
        _ => panic!("{}", shown()),
    }
}

/// The rules of a knot leave no order, and without any one of them there is one.
fn minimal(vehicle: &Vehicle, found: &Codes, wanted: &Codes, knot: &asfound_core::plan::RuleCycle) {
    let with = |names: &[String]| {
        let rules = vehicle.rules.iter().enumerate().filter(|(at, _)| names.contains(&format!("r{at}")));
        let rules = rules.map(|(_, rule)| rule.clone()).collect();
        answer(&Vehicle { rules, ..vehicle.clone() }, found, wanted)
    };
    let names: Vec<String> = knot.rules.iter().map(ToString::to_string).collect();
    assert_eq!(with(&names), Answer::NoOrder, "{knot:?} {vehicle:#?}");
    for left_out in 0..names.len() {
        let mut names = names.clone();
        names.remove(left_out);
        assert_ne!(with(&names), Answer::NoOrder, "{knot:?} {vehicle:#?}");
    }
}

/// Asks for plans until so many cases had something to be put in order.
fn compare(seed: u64, circles: bool, count: usize) -> Tally {
    let mut dice = Dice(seed);
    let mut tally = Tally::default();
    while tally.ordered() < count {
        let (vehicle, found, wanted) = Vehicle::random(&mut dice, circles);
        let quick = |found: &Codes, wanted: &Codes| {
            let phases = [false, true].map(|restricted| size(&vehicle, found, wanted, restricted));
            let writes = [false, true].map(|restricted| writables(&vehicle, found, wanted, restricted).len());
            phases.iter().all(|size| *size <= MOST) && writes.iter().sum::<usize>() <= 7
        };
        // There, back, and some of what is wanted only.
        let half: Codes = found.iter().zip(&wanted).map(|(a, b)| if dice.one_in(3) { *a } else { *b }).collect();
        let pairs = [(&found, &wanted), (&wanted, &found), (&found, &half)];
        if vehicle.rules.is_empty() || !pairs.iter().all(|(found, wanted)| quick(found, wanted)) {
            continue;
        }
        let blank = journal(&vehicle);
        for (found, wanted) in pairs {
            wish(&vehicle, &filed(&blank, &vehicle, found), found, wanted, &mut tally);
        }
    }
    println!("{} cases with something to be put in order: {tally:?}", tally.ordered());
    tally
}

#[test]
fn an_order_is_found_exactly_when_there_is_one_and_never_a_longer_one() {
    let tally = compare(3, false, 10_000);
    assert!(
        tally.ordered() >= 10_000 && tally.single > 9_000 && tally.knots > 100 && tally.breaking > 100,
        "{tally:?}"
    );
    assert!(tally.most_writes >= 7, "{tally:?}");
}

#[test]
fn circles_are_untied_exactly_when_they_can_be_and_with_the_fewest_writes() {
    let tally = compare(7, true, 10_000);
    assert!(tally.ordered() >= 10_000 && tally.knots > 1_000, "{tally:?}");
    assert!(tally.split_writes > 500 && tally.inventing > 100 && tally.most_writes >= 8, "{tally:?}");
}
