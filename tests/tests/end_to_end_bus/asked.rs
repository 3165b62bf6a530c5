//! Whose the writes were is asked at a terminal, before anybody is accused.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "in a test that is a failed test, also in its helpers")]

use std::io::Write;
use std::process::Stdio;

use asfound_tests::json::Entries;
use asfound_tests::{BusLog, Workshop};
use time::Duration;

use crate::{BODY, FIVE, FOUND, MORNING, shop_with};

const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");

fn written() -> Workshop {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND).write(BODY, "0D01", FIVE).wait(Duration::seconds(5)).read(BODY, "0D01", FIVE);
    shop_with(&log)
}

/// Runs `asfound file-log` at a terminal (`script` is util-linux's) and types the answers.
fn asked(shop: &mut Workshop, answers: &str) -> (String, Option<i32>) {
    let mut command = shop.process("script", "");
    command.args(["--quiet", "--return", "--echo", "never", "--command"]);
    command.arg(format!("'{BINARY}' file-log wren drive.log")).arg("/dev/null");
    command.env("NO_COLOR", "1").env("PATH", "/usr/bin:/bin").current_dir(shop.folder());
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(answers.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    (String::from_utf8_lossy(&output.stdout).replace('\r', ""), output.status.code())
}

#[test]
fn who_says_so_did_it() {
    for (answers, headline) in [
        ("perhaps\nyes\n\nowner wants five\n", "4 change: body.lane_change_flashes 3 -> 5"),
        ("no\n", "another hand: 1 setting"),
    ] {
        let mut shop = written();
        let (shown, code) = asked(&mut shop, answers);
        assert_eq!(code, Some(0), "{shown}");
        assert!(shown.contains("the journal does not know of a write, and nobody says whose it was"), "{shown}");
        let entries: Entries = shop.json("entries wren");
        let lines: Vec<String> =
            entries.entries.iter().map(|entry| format!("{} {}", entry.number, entry.headline)).collect();
        assert!(lines.iter().any(|line| line.contains(headline)), "{lines:#?}");
    }
}

#[test]
fn without_an_answer_nothing_is_filed() {
    let mut shop = written();
    let (shown, code) = asked(&mut shop, "\u{4}");
    assert_eq!(code, Some(2), "{shown}");
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries.len(), 2);
}
