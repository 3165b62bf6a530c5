//! No text from elsewhere reaches a terminal as it is.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use asfound_tests::Workshop;

use crate::support::{BINARY, Ended, end, run};

/// What would drive a terminal, turn the direction of writing, or not be seen.
fn is_raw(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{2028}' | '\u{FEFF}' | '\u{AD}')
}

#[track_caller]
fn assert_tame(ended: &Ended, line: &str) {
    for text in [&ended.out, &ended.err] {
        let raw: Vec<char> = text.chars().filter(|c| is_raw(*c)).collect();
        assert!(raw.is_empty(), "{line}: {raw:?} in {text:?}");
    }
}

/// In every text of a definition that is shown.
const HOSTILE: &str = "\u{202E}desrever\u{200B}\u{2066}x\u{AD}";

fn with_hostile_definition(text: &str) -> Workshop {
    let shop = Workshop::with_wren();
    let definition = shop.text("body-1.toml");
    let hostile = |line: &str| match line.split_once(" = ") {
        Some((key @ ("title" | "source" | "about"), _)) => format!("{key} = \"{text}\""),
        Some(("cautions", _)) => format!("cautions = [\"{text}\"]"),
        // Labels have to differ.
        Some(("label", label)) => format!("label = \"{text}{}", &label[1..]),
        _ => line.to_owned(),
    };
    let kept: Vec<String> = definition.lines().map(hostile).collect();
    shop.write("hostile.toml", kept.join("\n") + "\n");
    fs::copy(shop.folder().join("hostile.toml"), shop.garage().join("definitions/aviary-body-1.toml"))
        .expect("the system does it");
    let _ = fs::remove_dir_all(shop.garage().join("index"));
    shop
}

#[test]
fn texts_of_definitions_are_shown_by_number() {
    let mut shop = with_hostile_definition(HOSTILE);
    let mut seen = 0;
    for line in [
        "definition check ./hostile.toml",
        "settings wren",
        "settings wren --json",
        "entries wren",
        "entry wren 2",
        "explain body.lane_change_flashes",
        "change wren body.lane_change_flashes=5 --why five",
        "change wren body.lane_change_flashes=2 --why two --json",
        "change wren body.lane_change_flushes=5",
        "handover wren --from 2 --to 4",
        "find body.lane_change_flashes=3",
        "audit wren",
    ] {
        let ended = run(&mut shop, line);
        assert_tame(&ended, line);
        seen += usize::from(ended.out.contains("‹U+202E›") || ended.out.contains("\\u202e"));
    }
    assert!(seen >= 3, "nothing of the definition was shown");
}

#[test]
fn a_definition_with_control_characters_is_refused() {
    let mut shop = with_hostile_definition("\\u001b[31mred\\u0007");
    for line in ["definition check ./hostile.toml", "definition keep ./hostile.toml", "settings wren"] {
        let ended = run(&mut shop, line);
        assert_tame(&ended, line);
        assert_ne!(ended.exit, 0, "{line}: {}", ended.out);
        let said = ended.said() + &ended.out;
        assert!(said.contains("control character ‹U+001B›"), "{line}: {said}");
    }
}

#[test]
fn what_git_and_a_server_say_is_shown_by_number() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    let bin = shop.folder().join("bin");
    fs::create_dir(&bin).expect("the system does it");
    let git = bin.join("git");
    let said = "\\033]0;owned\\007\\033[2J\\342\\200\\256evil";
    fs::write(&git, format!("#!/bin/sh\nprintf 'fatal: {said}\\n' >&2\nexit 128\n")).expect("the system does it");
    fs::set_permissions(&git, fs::Permissions::from_mode(0o755)).expect("the system does it");
    for line in ["share ./cars.git", "share ./cars.git --json"] {
        let mut command = shop.process(BINARY, line);
        command.env("PATH", format!("{}:/usr/bin:/bin", bin.display()));
        let ended = end(command, line);
        assert_eq!(ended.exit, 4);
        assert_tame(&ended, line);
        assert!(ended.err.contains("evil"), "{}", ended.err);
    }
}

#[test]
fn lists_of_keys_and_commits_of_others_are_shown_by_number() {
    let mut shop = Workshop::with_wren();
    let key = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIDE7cEzBd0cyVDvXBPP9bW9wSSSDHZ5SRpMRt2lb4X5U";
    fs::write(
        shop.garage().join("allowed_signers"),
        format!("edda@workshop.example namespaces=\"git\" {key} \u{1b}[31mx\u{202E}\nbro\u{1b}[2Jken line\n"),
    )
    .expect("the system does it");
    let repository = shop.repository();
    let tree = asfound_tests::plain_git::text(&repository, &["rev-parse", "wren^{tree}"]);
    let commit = asfound_tests::plain_git::text(
        &repository,
        &[
            "-c",
            "user.name=X\u{1b}[31m\u{202E}",
            "-c",
            "user.email=x@x.example",
            "commit-tree",
            "-p",
            "wren",
            "-m",
            "3 note: \u{1b}]0;owned\u{7}\u{202E}",
            tree.trim(),
        ],
    );
    let _ = asfound_tests::plain_git::text(&repository, &["update-ref", "refs/heads/wren", commit.trim()]);
    for line in
        ["key list", "key list --json", "audit wren", "audit wren --json", "entries wren", "vehicles", "note wren x"]
    {
        let ended = run(&mut shop, line);
        assert_tame(&ended, line);
    }
}
