//! Histories with units that are swapped, to the audit and to the verifier.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use asfound_core::names::Tag;
use asfound_journal::audit::audit;
use asfound_journal::garage::Garage;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;

use crate::history::{Event, Said, events, file};
use crate::sound::means;

/// How many journals the verifier is given.
const HISTORIES: usize = 40;

/// A Python that has `tomllib`, which came with 3.11. Without one the test says so and ends.
fn python() -> Option<&'static str> {
    let names = ["python3", "python"];
    let found = names.into_iter().find(|name| {
        let wanted = "import sys; sys.exit(sys.version_info < (3, 11))";
        Command::new(name).args(["-c", wanted]).output().is_ok_and(|output| output.status.success())
    });
    if found.is_none() {
        eprintln!("left out: there is no Python 3.11 or later");
    }
    found
}

fn script() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/oracles/verify.py")
}

/// A unit whose module is read, with the same software said in two ways, and a record that is not read again.
fn respelt() -> Vec<Event> {
    let read = |software, records: [Option<usize>; 3]| Event::Read {
        ago: 0,
        software,
        serial: 1,
        records: records.map(|content| content.map(Said::Content)),
        value: None,
    };
    vec![read(1, [Some(0), Some(0), None]), read(4, [Some(1), None, None]), read(1, [None, Some(1), Some(1)])]
}

/// S1 is read whole, S2 in its place gives one record only, and S1 comes back with the other.
fn swapped() -> Vec<Event> {
    let read = |serial, records: [Option<usize>; 3]| Event::Read {
        ago: 0,
        software: 1,
        serial,
        records: records.map(|content| content.map(Said::Content)),
        value: None,
    };
    vec![read(1, [Some(0), Some(0), None]), read(2, [Some(0), None, None]), read(1, [None, Some(0), Some(1)])]
}

fn tag(at: usize) -> Tag {
    format!("car-{at}").parse().unwrap()
}

#[test]
fn what_was_not_read_since_is_left_out_and_comes_back() {
    let place = tempfile::tempdir().unwrap();
    let garage = Garage::create(&place.path().join("garage")).unwrap();
    let store = garage.store();
    assert_eq!(file(store, &tag(0), &swapped()), 4);
    let line = asfound_journal::store::Store::line(store, &tag(0)).unwrap();
    let text = |entry: usize| {
        let bytes = asfound_journal::store::Store::file(store, &line[entry - 1], "modules/body.toml").unwrap();
        String::from_utf8(bytes).unwrap()
    };
    // `flashes` lies in 0D01 and `code` in 0D02.
    for (entry, flashes, code) in [(2, true, true), (3, true, false), (4, false, true)] {
        assert_eq!(text(entry).contains("\nflashes = "), flashes, "entry {entry}:\n{}", text(entry));
        assert_eq!(text(entry).contains("\ncode = "), code, "entry {entry}:\n{}", text(entry));
    }
    assert!(audit(store, &tag(0), means(), &mut |_| {}).unwrap().findings.is_empty());
}

#[test]
fn random_histories_are_sound_to_the_verifier_too() {
    let Some(python) = python() else { return };
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("garage");
    let entries = file_all(&Garage::create(&path).unwrap(), HISTORIES);
    assert!(entries > 5 * HISTORIES, "{entries}");
    assert_sound_to_verifier(python, &path, HISTORIES);
}

/// Files so many journals, most of them random, and always the same; how many entries they have together.
fn file_all(garage: &Garage, journals: usize) -> usize {
    let mut chance = TestRunner::deterministic();
    let random = (2..journals).map(|_| events(20).new_tree(&mut chance).unwrap().current());
    let all = [swapped(), respelt()].into_iter().chain(random);
    all.enumerate().map(|(at, events)| file(garage.store(), &tag(at), &events)).sum()
}

#[track_caller]
fn assert_sound_to_verifier(python: &str, garage: &Path, journals: usize) {
    let output = Command::new(python).arg(script()).arg(garage).stdin(Stdio::null()).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!((output.status.code(), text.lines().last()), (Some(0), Some("nothing is wrong")), "{text}");
    assert_eq!(text.lines().count(), journals + 1, "nothing was left unchecked: {text}");
}

/// What an earlier version filed; see the page beside it.
const EARLIER: &str = "tests/data/units-0.bundle";
/// How many journals are in it.
const JOURNALS: usize = 6;

#[test]
fn journals_of_an_earlier_version_are_sound_as_they_are() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("garage");
    let garage = Garage::create(&path).unwrap();
    let bundle = Path::new(env!("CARGO_MANIFEST_DIR")).join(EARLIER);
    git(&path, &["fetch", "--quiet", bundle.to_str().unwrap(), "refs/heads/*:refs/heads/*"]);
    for at in 0..JOURNALS {
        let audit = audit(garage.store(), &tag(at), means(), &mut |_| {}).unwrap();
        let found: Vec<String> = audit.findings.iter().map(ToString::to_string).collect();
        assert_eq!(found, [""; 0], "{}", tag(at));
    }
    if let Some(python) = python() {
        assert_sound_to_verifier(python, &path, JOURNALS);
    }
}

fn git(garage: &Path, arguments: &[&str]) {
    let mut command = Command::new("git");
    command.env("GIT_CONFIG_NOSYSTEM", "1").env("HOME", "/nonexistent");
    let output = command.arg("--git-dir").arg(garage.join("journals.git")).args(arguments).output().unwrap();
    assert!(output.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
}
