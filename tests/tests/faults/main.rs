//! The program is ended, or the disk refuses, at every write, rename and sync in turn, for each command that writes.
//!
//! What is checked each time: every entry that was filed before is there, unaltered; at most what the command was to file was added,
//! whole; plain git finds the repository in order; the next entry is filed; the audit passes. By default some points of each
//! command are tried; `ASFOUND_FAULT_POINTS=all` tries every one, `ASFOUND_FAULT_POINTS=take-in` every one of the commands that
//! begin so.
#![cfg(target_os = "linux")]

mod order;
mod surroundings;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use asfound_tests::{Workshop, plain_git};
use tempfile::TempDir;

const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");

/// What is run.
const COMMANDS: [&str; 11] = [
    "note wren 'a note'",
    "change wren body.lane_change_flashes=2 --why two",
    "read wren ./weeks-later.toml --attach ./as-left.toml",
    "put-back wren 4 --done --sheet CODE --why back",
    "correct wren 3 --words 'four, not five' --why misheard",
    "enrol plover",
    "order open wren 2026-0412 --authorise body.lane_change_flashes=5 --consent 'owner, at the desk'",
    "definition keep ./body-1.toml",
    "import ./in --enrol --partial",
    "pack",
    "share ./cars.git --new",
];
const MODES: [&str; 5] = ["kill", "half", "full", "quota", "sync"];
/// How many points of each command are tried in each way by default.
const SOME: usize = 5;

/// The shim, compiled; nothing where there is no compiler for it.
fn shim(folder: &TempDir) -> Option<PathBuf> {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults/shim.c");
    let library = folder.path().join("shim.so");
    let compiled =
        Command::new("cc").args(["-shared", "-fPIC", "-O1", "-o"]).arg(&library).arg(source).arg("-ldl").output();
    match compiled {
        Ok(output) if output.status.success() => Some(library),
        Ok(output) => panic!("the shim does not compile: {}", String::from_utf8_lossy(&output.stderr)),
        Err(error) => {
            say(&format!("skipped: there is no C compiler for the shim ({error})"));
            None
        }
    }
}

#[expect(clippy::print_stderr, reason = "whoever runs the tests has to know what they did not show")]
fn say(what: &str) {
    eprintln!("{what}");
}

fn workshop() -> Workshop {
    let shop = Workshop::after_work();
    for (name, tag) in [("in/a.toml", "wren"), ("in/b.toml", "rook")] {
        let text = shop.text("weeks-later.toml");
        let kept: Vec<&str> =
            text.lines().filter(|line| !line.starts_with("vehicle") && !line.starts_with("vin")).collect();
        let (first, rest) = kept.split_first().expect("it has lines");
        shop.write(name, format!("{first}\nvehicle = \"{tag}\"\n{}\n", rest.join("\n")));
    }
    shop
}

/// What came of one run with a fault.
struct Ran {
    /// The exit code, where it ended by itself.
    code: Option<i32>,
    said: String,
    /// How many points there were, where it ended by itself.
    points: usize,
}

fn run_with_fault(shop: &mut Workshop, shim: &Path, line: &str, mode: &str, at: usize) -> Ran {
    let log = shop.folder().join("points");
    let output = shop
        .process(BINARY, line)
        .env("LD_PRELOAD", shim)
        .env("FAULT_LOG", &log)
        .env("FAULT_MODE", mode)
        .env("FAULT_AT", at.to_string())
        .stdin(Stdio::null())
        .output()
        .expect("the binary can be started");
    // A fault that strikes one of many readings is told in the answer, beside it.
    let told = if line.starts_with("import") { &output.stdout } else { &output.stderr };
    let said = [&output.stderr, told].map(|said| String::from_utf8_lossy(said)).concat();
    Ran { code: output.status.code(), said, points: counted(&log) }
}

/// What the shim has counted; nothing where the program did not end by itself.
fn counted(log: &Path) -> usize {
    std::fs::read_to_string(log).map_or(0, |count| count.trim().parse().expect("it is a number"))
}

/// How many points a command has.
fn points(shim: &Path, line: &str) -> usize {
    let mut shop = workshop();
    let log = shop.folder().join("points");
    let output = shop.process(BINARY, line).env("LD_PRELOAD", shim).env("FAULT_LOG", &log).output();
    let output = output.expect("the binary can be started");
    assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    counted(&log)
}

/// Everything that must hold after a fault.
fn check(shop: &mut Workshop, before: &[String], what: &str) {
    let repository = shop.repository();
    let fsck = plain_git::git(&repository, &["fsck", "--strict", "--no-dangling"]);
    assert!(fsck.status.success(), "{what}: {}", String::from_utf8_lossy(&fsck.stderr));
    let line = plain_git::line(&repository, "wren");
    assert!(line.starts_with(before), "{what}: an entry that was filed is gone");
    assert!(line.len() <= before.len() + 1, "{what}: more was filed than there was to file");
    let note = shop.run("note wren 'the next one'");
    assert_eq!(note.exit, 0, "{what}: {note}");
    let after = plain_git::line(&repository, "wren");
    assert!(after.starts_with(&line) && after.len() == line.len() + 1, "{what}: the next entry is not filed");
    let audit = shop.run("audit");
    assert_eq!(audit.exit, 0, "{what}: {audit}");
}

fn one(shim: &Path, line: &str, mode: &str, at: usize) {
    let what = format!("`{line}`, {mode} at point {at}");
    let mut shop = workshop();
    let before = plain_git::line(&shop.repository(), "wren");
    let Ran { code, said, points } = run_with_fault(&mut shop, shim, line, mode, at);
    match (mode, code) {
        // Two objects may happen to lie in one folder, which is then one to sync.
        ("kill" | "half", Some(0)) if points < at => {}
        // It was nothing that mattered; or the program was ended, also where it was no write of which half was asked for.
        ("full" | "quota" | "sync", Some(0)) | ("kill" | "half", None) => {}
        ("full" | "quota" | "sync", Some(code)) => {
            assert!(
                code == 4 && (said.starts_with("asfound: ") || said.contains("note well: ")),
                "{what}: {code}: {said}"
            );
        }
        (_, code) => panic!("{what}: ended with {code:?}: {said}"),
    }
    let filed = plain_git::line(&shop.repository(), "wren").len() > before.len();
    if code == Some(0)
        && !line.starts_with("enrol")
        && ["note", "change", "put-back"].iter().any(|c| line.starts_with(c))
    {
        assert!(filed, "{what}: it says that it is filed, and is not");
    }
    check(&mut shop, &before, &what);
    if line.starts_with("share") || line.starts_with("pack") || line.starts_with("import") {
        let again = shop.run(line);
        assert_eq!(again.exit, 0, "{what}, and again: {again}");
    }
}

#[test]
fn nothing_is_lost_wherever_the_program_is_ended_or_the_disk_refuses() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let Some(shim) = shim(&folder) else { return };
    #[expect(clippy::disallowed_methods, reason = "this is how a contributor asks for every point")]
    let asked = std::env::var("ASFOUND_FAULT_POINTS").unwrap_or_default();
    let (all, only) = (!asked.is_empty(), if asked == "all" { "" } else { asked.as_str() });
    let mut tried = Vec::new();
    for (index, line) in COMMANDS.iter().enumerate().filter(|(_, line)| line.starts_with(only)) {
        let count = points(&shim, line);
        assert!(count > 5, "{line} has {count} points");
        for (way, mode) in MODES.iter().enumerate() {
            let step = if all { 1 } else { count.div_ceil(SOME) };
            // Others for each way and command, so that a run sees points of every sort.
            let first = if all { 1 } else { 1 + (index * 3 + way * 5) % step };
            tried.extend((first..=count).step_by(step).map(|at| (*line, *mode, at)));
        }
    }
    let next = AtomicUsize::new(0);
    thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                while let Some((line, mode, at)) = tried.get(next.fetch_add(1, Ordering::Relaxed)) {
                    one(&shim, line, mode, *at);
                }
            });
        }
    });
    say(&format!("{} points were tried", tried.len()));
    assert!(tried.len() >= 150 || !only.is_empty(), "{}", tried.len());
}
