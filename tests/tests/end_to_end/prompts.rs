//! A change asked for question by question, at a terminal.
#![cfg(target_os = "linux")]

use std::io::Write;
use std::process::Stdio;

use asfound_tests::Workshop;
use asfound_tests::json::Entry;

use crate::BINARY;

/// Runs `asfound change wren` at a terminal (`script` is util-linux's) and types the answers; all that was shown, and
/// the exit code.
fn asked(shop: &mut Workshop, answers: &str) -> (String, Option<i32>) {
    let mut command = shop.process("script", "");
    command.args(["--quiet", "--return", "--echo", "never", "--command"]);
    command.arg(format!("'{BINARY}' change wren")).arg("/dev/null").env("NO_COLOR", "1").env("PATH", "/usr/bin:/bin");
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(answers.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    (String::from_utf8_lossy(&output.stdout).replace('\r', ""), output.status.code())
}

#[test]
fn every_answer_is_held_against_the_definition() {
    let mut shop = Workshop::with_wren();
    let answers = "flashes\nbody.nothing\nbody.lane_change_flashes\n9\n5\n\nowner wants five\n";
    let (shown, code) = asked(&mut shop, answers);
    assert_eq!(code, Some(0), "{shown}");
    for question in [
        "`flashes` names no setting",
        "aviary-body-1 has no setting `nothing`",
        "It is 3. To what is it altered?",
        "`9` cannot be stored; the largest that can is 7",
        "an entry needs its reason",
        "Filed as entry 3",
    ] {
        assert!(shown.contains(question), "`{question}` was not shown:\n{shown}");
    }
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.entry.headline, "change: body.lane_change_flashes 3 -> 5");
    assert_eq!(entry.entry.why, "owner wants five");
}

#[test]
fn what_was_there_before_is_asked_where_nobody_knows() {
    let mut shop = Workshop::with_wren();
    let (shown, code) = asked(&mut shop, "radio.volume\n3\n\n5\nlouder\n");
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains("What was it before?") && shown.contains("or there is no way back"), "{shown}");
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.alterations[0].found.as_ref().unwrap().text, "5");
}

#[test]
fn nothing_is_filed_when_the_answers_end() {
    let mut shop = Workshop::with_wren();
    let tip = shop.tip("wren");
    let (shown, code) = asked(&mut shop, "body.lane_change_flashes\n5\n");
    assert_eq!(code, Some(2), "{shown}");
    assert!(shown.contains("the answers ended before the questions; nothing was filed"), "{shown}");
    assert_eq!(shop.tip("wren"), tip);
}
