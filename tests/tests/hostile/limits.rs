//! Inputs without end, and settings of the surroundings that no clock has.

use std::fs;
use std::os::unix::fs::symlink;

use asfound_tests::Workshop;

use crate::support::{BINARY, end, run};

#[test]
fn what_has_no_end_is_refused() {
    let mut shop = Workshop::with_wren();
    for line in [
        "read wren /dev/zero",
        "note wren x --attach /dev/zero",
        "definition check /dev/zero",
        "definition keep /dev/zero",
        "definition export /dev/zero ./x.odx",
        "code-texts --load /dev/zero",
        "key trust /dev/zero --for edda@workshop.example",
        "audit /dev/zero",
        "work wren /dev/zero",
        "compare wren /dev/zero",
    ] {
        let ended = run(&mut shop, line);
        assert_ne!(ended.exit, 0, "{line}: {}", ended.out);
        assert!(!ended.err.is_empty(), "{line}");
    }
    for line in ["read wren /dev/zero", "note wren x --attach /dev/zero", "definition check /dev/zero"] {
        let ended = run(&mut shop, line);
        let said = ended.said() + &ended.out;
        assert!(said.contains("it is too large (limit 67108864 bytes)"), "{line}: {said}");
    }
}

#[test]
fn folders_that_lead_into_each_other_are_gone_into_once() {
    let mut shop = Workshop::with_wren();
    let inbox = shop.folder().join("inbox");
    fs::create_dir_all(inbox.join("a")).unwrap();
    fs::create_dir_all(inbox.join("b")).unwrap();
    for (from, to) in [("a", "x"), ("b", "y"), ("a", "z"), ("b", "w")] {
        symlink(&inbox, inbox.join(from).join(to)).unwrap();
    }
    fs::copy(shop.folder().join("weeks-later.toml"), inbox.join("a/reading.toml")).unwrap();
    let ended = run(&mut shop, "import ./inbox --partial --json");
    assert!(ended.out.contains("\"filed\": 1,"), "{}{}", ended.out, ended.err);
    assert!(ended.out.contains("\"filed_before\": 0,"), "it was met twice: {}", ended.out);
}

#[test]
fn a_zone_of_a_day_and_more_does_no_harm() {
    for zone in ["XXX-24:30", "XXX24:59", "XXX-24", "XXX24", "XXX-25:59:59", "XXX-167:59:59", "XXX-23:59"] {
        let mut shop = Workshop::with_wren();
        for line in ["note wren 'a note'", "entries wren", "note wren 'another' --at '2026-03-14 09:20'"] {
            let mut command = shop.process(BINARY, line);
            command.env("TZ", zone);
            let ended = end(command, line);
            assert!(!ended.err.contains("panicked"), "{zone}, {line}: {}", ended.err);
            assert!([0, 2].contains(&ended.exit), "{zone}, {line}: {}", ended.err);
        }
        let ended = run(&mut shop, "audit wren");
        assert_eq!(ended.exit, 0, "{zone}: {}{}", ended.out, ended.err);
    }
}
