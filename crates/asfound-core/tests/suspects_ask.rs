//! Who is suspected of a trouble code, and why.

mod support;

use std::ops::Deref;

use asfound_core::definition::DefinitionSet;
use asfound_core::history::History;
use asfound_core::situation::Engine;
use asfound_core::suspects::{NoSuspects, Suspect, SuspectKind, Suspicion, suspects};
use support::*;

/// A gateway whose light level a rule of the lamps needs, and lamps of which one acts on the cluster.
const LAMPS: &str = r#"
format = "asfound-definition/1"
id = "test-lamps-1"
title = "Lamps"

[applies_to]
module = "lamps"

[records.0F01]
label = "Lamps"
length = 1

[settings.cornering]
label = "Cornering light"
record = "0F01"
byte = 0
bit = 0
bits = 1
type = "switch"
tags = ["lighting"]

[settings.greeting]
label = "Greeting light"
record = "0F01"
byte = 0
bit = 1
bits = 1
type = "switch"
tags = ["comfort"]
affects = ["cluster"]

[[rules]]
name = "cornering-needs-light-level"
when = { cornering = "on" }
needs = { "gateway.light_level" = "2" }
because = "It is only switched in the dark"
"#;

/// What follows from a journal, with the journal's history, which the reasons follow from.
#[derive(Debug)]
struct Asked {
    suspicion: Suspicion,
    history: History,
    definitions: DefinitionSet,
}

impl Deref for Asked {
    type Target = Suspicion;
    fn deref(&self) -> &Suspicion {
        &self.suspicion
    }
}

fn ask(journal: &Journal, code: &str, module: Option<&str>) -> Result<Asked, NoSuspects> {
    let module = module.map(|module| module.parse().expect("a module"));
    let code = code.parse().expect("a code");
    let (history, definitions) = (journal.history(), journal.definitions.clone());
    let suspicion = suspects(&journal.trials(), &history, &definitions, &code, module.as_ref())?;
    Ok(Asked { suspicion, history, definitions })
}

/// Each suspect with its reasons.
fn shown(asked: &Asked) -> Vec<(u32, Vec<String>)> {
    let line = |suspect: &Suspect| {
        let reasons = asked.reasons(suspect, &asked.history, &asked.definitions);
        assert_eq!(reasons.iter().map(|reason| reason.points).sum::<u32>(), suspect.score());
        let reasons = reasons.iter().map(|reason| format!("{} {}", reason.points, reason.why));
        (suspect.entry.get(), reasons.collect())
    };
    asked.suspects.iter().map(line).collect()
}

fn lines(entry: u32, reasons: &[&str]) -> (u32, Vec<String>) {
    (entry, reasons.iter().map(|reason| (*reason).to_owned()).collect())
}

fn says(suspect: &(u32, Vec<String>), reason: &str) -> bool {
    suspect.1.iter().any(|said| said == reason)
}

fn known() -> Journal {
    let mut journal = Journal::new([LAMPS, BRAKES]);
    let said = reading().module("lamps").record("0F01", "00").codes("");
    let said = said.module("gateway").value("light_level", "2").value("wake", "fast").codes("");
    journal.read(said.module("cluster").value("chime", "on").codes("").module("brakes").value("hold", "off").codes(""));
    journal
}

#[test]
fn every_line_says_why() {
    let mut journal = known();
    journal.change(&[("cluster.chime", "off")]); // 3
    journal.change(&[("lamps.greeting", "on")]); // 4
    journal.change(&[("lamps.cornering", "on")]); // 5
    journal.change(&[("gateway.wake", "slow")]); // 6
    journal.change(&[("brakes.hold", "on")]); // 7
    journal.read(reading().module("gateway").codes("").module("cluster").codes("B1234-11/2F")); // 8
    let suspicion = ask(&journal, "B1234-11", None).unwrap();
    assert_eq!(
        shown(&suspicion),
        [
            lines(3, &["40 same module, cluster", "5 it came in the window", "1 recent, 16% through the window"]),
            lines(
                4,
                &["25 lamps.greeting acts on cluster", "5 it came in the window", "3 recent, 33% through the window"]
            ),
            lines(7, &["10 restricted class", "8 recent, 83% through the window", "5 it came in the window"]),
            lines(6, &["6 recent, 66% through the window", "5 it came in the window"]),
            lines(5, &["5 it came in the window", "5 recent, 50% through the window"]),
        ]
    );
    assert_eq!(suspicion.window.without, Some(number(2)));
    assert!(suspicion.care.is_empty());

    // The same work, and a code of the gateway: the rule counts.
    let mut other = journal.clone();
    other.entries.pop();
    other.read(reading().module("gateway").codes("U0100"));
    let suspicion = ask(&other, "U0100", None).unwrap();
    let lamps = shown(&suspicion).into_iter().find(|(entry, _)| *entry == 5).unwrap();
    assert!(says(&lamps, "20 rule cornering-needs-light-level ties it to gateway"), "{lamps:?}");

    // A code of the brakes: care, and the same kind of system.
    other.entries.pop();
    other.read(reading().module("brakes").codes("C0035-11"));
    let suspicion = ask(&other, "C0035-11", None).unwrap();
    assert_eq!(suspicion.care.iter().map(|tag| tag.as_str()).collect::<Vec<_>>(), ["steering", "braking"]);
    let brakes = &shown(&suspicion)[0];
    assert!(brakes.0 == 7 && says(brakes, "15 same kind of system, braking"), "{brakes:?}");
}

#[test]
fn what_nobody_recorded_is_suspected_too() {
    let mut journal = known();
    journal.read(reading().module("gateway").value("wake", "slow").codes("")); // 3: another hand, before the window
    journal.change(&[("cluster.chime", "off")]); // 4
    journal.never_made(4).unwrap(); // 5
    journal.read(reading().module("cluster").value("chime", "soft").codes("")); // 6: still in time for the gateway
    journal.read(reading().module("gateway").value("light_level", "1").codes("U0100")); // 7
    journal.change(&[("gateway.wake", "fast")]); // 8: after the code came
    journal.read(reading().module("lamps").record("0F01", "02")); // 9: last read in entry 2, so it may have been before
    let suspicion = ask(&journal, "U0100", None).unwrap();
    let found: Vec<_> = suspicion.suspects.iter().map(|suspect| (suspect.entry.get(), suspect.kind)).collect();
    assert_eq!(
        found,
        [(7, SuspectKind::Unexplained), (9, SuspectKind::Unexplained), (6, SuspectKind::Unexplained)],
        "{:#?}",
        shown(&suspicion)
    );
    assert!(says(&shown(&suspicion)[0], "5 nobody recorded it"));
    assert_eq!(suspicion.window.without, Some(number(3)));
}

#[test]
fn work_that_is_filed_late_counts_by_when_it_was_done() {
    let mut journal = known();
    journal.read(reading().module("gateway").codes("U0100")); // 3
    journal.change(&[("gateway.wake", "slow")]); // 4
    assert!(ask(&journal, "U0100", None).unwrap().suspects.is_empty(), "no recorded change");
    let before = journal.entries[2].happened - time::Duration::hours(2);
    journal.entries[3].happened = before;
    assert_eq!(ask(&journal, "U0100", None).unwrap().suspects.len(), 1);
}

#[test]
fn another_unit_is_a_suspect() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("gateway").serial("1").value("wake", "slow").codes(""));
    journal.read(reading().module("gateway").serial("2").value("wake", "slow").codes("U0100"));
    let suspicion = ask(&journal, "U0100", None).unwrap();
    assert_eq!(suspicion.suspects.len(), 1);
    assert_eq!(suspicion.suspects[0].renewed.len(), 1);
}

#[test]
fn a_code_must_have_been_seen_in_one_module() {
    let mut journal = known();
    journal.read(
        reading().module("gateway").codes("U0100-87").module("cluster").codes("U0140").module("lamps").codes("U0140"),
    );
    let near = ask(&journal, "U0100", None).unwrap_err();
    assert_eq!(near.hint().as_deref(), Some("did you mean U0100-87 of gateway?"));
    let several = ask(&journal, "U0140", None).unwrap_err();
    assert_eq!(several.to_string(), "U0140 was seen in several modules: cluster, lamps");
    assert!(ask(&journal, "U0140", Some("lamps")).is_ok());
    assert!(matches!(ask(&journal, "U0140", Some("brakes")), Err(NoSuspects::NotInModule { .. })));
    assert!(matches!(ask(&journal, "P0001", None), Err(NoSuspects::NeverSeen { near, .. }) if near.is_empty()));
}

/// The last coming counts, unless what went before it was a round.
#[test]
fn a_code_that_comes_again_has_a_new_window_unless_it_went_by_a_put_back() {
    let mut journal = known();
    journal.change(&[("gateway.wake", "slow")]); // 3
    journal.read(reading().module("gateway").codes("U0100")); // 4
    journal.read(reading().module("gateway").codes("")); // 5: cleared
    journal.change(&[("cluster.chime", "off")]); // 6
    journal.read(reading().module("gateway").codes("U0100")); // 7
    let window = ask(&journal, "U0100", None).unwrap().suspicion.window;
    assert_eq!((window.without, window.first), (Some(number(5)), number(7)));
    let mut rounds = journal.clone();
    rounds.entries.truncate(4);
    rounds.put_back(&[3]).unwrap(); // 5
    rounds.read(reading().module("gateway").codes("")); // 6
    rounds.put_back(&[5]).unwrap(); // 7
    rounds.read(reading().module("gateway").codes("U0100")); // 8
    let window = ask(&rounds, "U0100", None).unwrap().suspicion.window;
    assert_eq!((window.without, window.first), (Some(number(2)), number(4)));
}

#[test]
fn a_common_circumstance_and_what_is_not_plausible_come_with_it() {
    let mut journal = known();
    journal.define(
        "format = \"asfound-definition/1\"\nid = \"test-cluster-9\"\ntitle = \"Cluster\"\n[applies_to]\nmodule = \"cluster\"\n\
         [records.0001]\nlabel = \"x\"\nlength = 1\n[[plausibility]]\nname = \"r\"\ncodes = [\"U0*\"]\n\
         needs = { engine = \"running\" }\nbecause = \"It only listens then\"\n",
    );
    journal.change(&[("gateway.wake", "slow")]);
    journal.read(reading().module("cluster").codes("U0100").volts("10.5").engine(Engine::Stopped));
    let suspicion = ask(&journal, "U0100", None).unwrap();
    assert_eq!(suspicion.circumstance.as_ref().unwrap().signs().len(), 2);
    assert_eq!(suspicion.implausible.len(), 1);
}
