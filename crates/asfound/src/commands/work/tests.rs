//! The conversation, with answers that are typed.

use std::cell::RefCell;
use std::ffi::OsString;
use std::path::Path;

use time::macros::{datetime, offset};

use super::*;
use crate::setup::{Environment, Zone};

fn environment(garage: &Path) -> Environment {
    Environment {
        garage: Some(garage.to_owned()),
        state: None,
        author: Some("bench".to_owned()),
        account: None,
        agent: None,
        key_passphrase: None,
        locale: None,
        now: datetime!(2026-03-14 09:20 +1),
        zone: Zone::Fixed(offset!(+1)),
        width: 80,
        colour: false,
        colour_of_errors: false,
        interactive: false,
    }
}

fn command(garage: &Path, words: &[&str]) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = ["asfound"].iter().chain(words).map(OsString::from);
    let exit = crate::run::run(arguments, Some(environment(garage)), &mut out, &mut err);
    assert_eq!(exit, Exit::Done, "{words:?}: {}", String::from_utf8_lossy(&err));
}

/// Walks the plan with these answers; gives what was written, and how it ended.
fn converse(garage: &Path, plan: &Path, typed: &str) -> (String, Result<Exit, Failure>) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut session = Session {
        environment: environment(garage),
        garage_option: None,
        author_option: None,
        as_said: false,
        json: false,
        out: &mut out,
        err: &mut err,
        indexes: RefCell::default(),
        notices: RefCell::default(),
        filed_as: RefCell::default(),
        last_filed: RefCell::default(),
        unwritten: None,
    };
    let saved = load(plan).unwrap();
    let known = TracedJournal::open(&session, &saved.vehicle).unwrap();
    let open = open(&known, &saved, Vec::new(), session.environment.now).unwrap();
    let mut work = GuidedSession { open, known, file: "p".to_owned() };
    let ended = work.converse(&mut session, &mut typed.as_bytes());
    (String::from_utf8(out).unwrap() + &String::from_utf8(err).unwrap(), ended)
}

fn with_plan(folder: &Path) -> (std::path::PathBuf, std::path::PathBuf) {
    let (garage, plan) = (folder.join("garage"), folder.join("bass.toml"));
    command(&garage, &["enrol", "wren"]);
    let path = plan.display().to_string();
    command(&garage, &["change", "wren", "radio.bass=4", "--was", "3", "--preview", "--save", &path]);
    (garage, plan)
}

#[test]
fn question_by_question() {
    let folder = tempfile::tempdir().unwrap();
    let (garage, plan) = with_plan(folder.path());
    let (shown, ended) = converse(&garage, &plan, "2\nunknown\n3\nmaybe\nyes\n3\n4\nowner wants more\n");
    assert_eq!(ended, Ok(Exit::Done), "{shown}");
    assert!(shown.contains("found 2 instead of 3: nothing is written"), "{shown}");
    assert!(shown.contains("say yes, refused, unknown or stop"), "{shown}");
    assert!(shown.contains("it reads 3 instead of 4: no other step is made"), "{shown}");
    assert!(shown.contains("made            every step"), "{shown}");
}

#[test]
fn left_in_the_middle_it_says_what_is_in_doubt() {
    let folder = tempfile::tempdir().unwrap();
    let (garage, plan) = with_plan(folder.path());
    let (shown, ended) = converse(&garage, &plan, "3\n");
    assert!(ended.is_err_and(|failure| failure.message.contains("the answers ended")), "{shown}");
    let (shown, ended) = converse(&garage, &plan, "4\nowner wants more\n");
    assert!(shown.contains("this step is in doubt"), "{shown}");
    assert_eq!(ended, Ok(Exit::Done), "{shown}");
    assert!(shown.contains("made, read back as wanted"), "{shown}");
}

#[test]
fn stopped_before_anything_was_written_it_files_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (garage, plan) = with_plan(folder.path());
    let (shown, ended) = converse(&garage, &plan, "stop\n");
    assert_eq!(ended, Ok(Exit::Done));
    assert!(shown.contains("nothing is filed"), "{shown}");
}
