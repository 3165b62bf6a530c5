//! The journal held against a second one: 2,000 recorded histories of 40 entries, with late, undated, equal-time and other-unit
//! readings, and the answers of a model written in Python from the documentation alone (`tests/oracles/moments_model.py`).

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod accusations;
mod any_order;
mod filing;
mod parse;

use std::collections::BTreeMap;

use asfound_core::history::{HandKind, History, Origin, Proof};

use accusations::Counts;
use filing::{definitions, field, filed, number, state_of};
use parse::{FIELDS, Recorded};

fn short_origin(origin: Origin) -> String {
    match origin {
        Origin::FirstKnown => "f".to_owned(),
        Origin::Work => "w".to_owned(),
        Origin::AnotherHand(HandKind::SettingsAltered) => "a".to_owned(),
        Origin::AnotherHand(HandKind::UnitSwapped) => "u".to_owned(),
        Origin::AnotherHand(HandKind::UnitReturned) => "b".to_owned(),
        Origin::AnotherHand(HandKind::SoftwareUpdated) => "software".to_owned(),
        Origin::Contradicts(of) => format!("k{of}"),
        Origin::CannotTell(_) => "?".to_owned(),
    }
}

fn short_proof(proof: Proof) -> String {
    match proof {
        Proof::Stated => "s".to_owned(),
        Proof::ReadBack(by) => format!("r{by}"),
        Proof::Witnessed(by) | Proof::PartlyWitnessed(by) => format!("witnessed {by}"),
        Proof::Contradicted(by) => format!("c{by}"),
    }
}

/// What the program answers otherwise than the model.
fn differences(recorded: &Recorded) -> Vec<String> {
    let definitions = definitions();
    let filing = filed(&definitions, recorded);
    if let Some(misfit) = filing.misfit {
        return vec![misfit];
    }
    let history = History::trace(&filing.entries, &definitions).unwrap();
    let mut differences = Vec::new();
    let state = state_of(history.state(), &recorded.state);
    if state != recorded.state {
        differences.push(format!("state: {state:?} and not {:?}", recorded.state));
    }
    for ((path, steps), proofs) in FIELDS.iter().zip(&recorded.steps).zip(&recorded.proofs) {
        let traced = history.timeline(&field(path)).map_or(&[][..], |timeline| timeline.transitions());
        let traced: Vec<(u32, String)> =
            traced.iter().map(|step| (step.entry.get(), short_origin(step.origin))).collect();
        if traced != *steps {
            differences.push(format!("{path}: {traced:?} and not {steps:?}"));
        }
        let proven = |entry: &u32| history.proof(&field(path), number(*entry));
        let proven: BTreeMap<u32, String> =
            proofs.keys().map(|entry| (*entry, proven(entry).map_or("-".to_owned(), short_proof))).collect();
        if proven != *proofs {
            let other = proven.iter().filter(|(entry, proof)| proofs[entry] != **proof);
            let other: Vec<String> =
                other.map(|(entry, proof)| format!("{entry}{proof} and not {entry}{}", proofs[entry])).collect();
            differences.push(format!("{path}, proof: {}", other.join(", ")));
        }
    }
    differences
}

#[test]
fn the_journal_answers_as_the_model_does() {
    let all = parse::all();
    assert_eq!(all.len(), 2_000);
    assert!(all.iter().all(|recorded| recorded.facts.len() == 39 && recorded.truth.order.len() == 40));
    let mut differing = 0;
    let mut first = String::new();
    for recorded in &all {
        let differences = differences(recorded);
        if !differences.is_empty() {
            differing += 1;
            if differing <= 20 {
                first += &format!("history {}:\n  {}\n", recorded.seed, differences.join("\n  "));
            }
        }
    }
    assert_eq!(differing, 0, "of {} histories\n{first}", all.len());
}

/// With `--nocapture` it prints the table of `docs/accusations.md`.
#[test]
#[allow(clippy::print_stdout, reason = "the table is part of the result")]
fn nobody_is_accused_of_what_did_not_happen() {
    let counts = Counts::of(&parse::all());
    println!("{counts}");
    let first: Vec<&String> = counts.examples.iter().take(20).collect();
    assert_eq!(counts.examples.len(), 0, "{first:#?}");
    // What happened is found as well: silence would accuse nobody.
    assert!(counts.altered_by_hand.said > 2_000 && counts.contradicted.said > 200, "{counts}");
}
