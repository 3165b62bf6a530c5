//! `asfound audit` as people and programs see it.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::Command;

use asfound::{Environment, Exit, Zone, run};
use time::macros::{datetime, offset};

fn surroundings(garage: &Path, minute: i64) -> Environment {
    Environment {
        garage: Some(garage.to_owned()),
        state: None,
        author: Some("Edda Brandt <edda@workshop.example>".to_owned()),
        account: None,
        now: datetime!(2026-03-14 09:20 +1) + time::Duration::minutes(minute),
        zone: Zone::Fixed(offset!(+1)),
        width: 80,
        colour: false,
        colour_of_errors: false,
        interactive: false,
        agent: None,
        key_passphrase: None,
        locale: None,
    }
}

/// Exit code, standard output, standard error.
fn asfound(garage: &Path, minute: i64, words: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = std::iter::once("asfound").chain(words.iter().copied()).map(OsString::from);
    let exit = run(arguments, Some(surroundings(garage, minute)), &mut out, &mut err);
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

fn git(garage: &Path, words: &[&str]) -> String {
    let output = Command::new("git").arg("--git-dir").arg(garage.join("journals.git")).args(words).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().trim().to_owned()
}

/// A garage in a temporary directory, which goes with it.
struct Place(PathBuf, #[allow(dead_code, reason = "it is removed when dropped")] tempfile::TempDir);

impl Place {
    fn path(&self) -> &Path {
        &self.0
    }
}

/// A garage with two vehicles and three entries each.
fn garage() -> Place {
    let folder = tempfile::tempdir().unwrap();
    let folder = Place(folder.path().join("garage"), folder);
    for tag in ["wren", "rook"] {
        for (minute, words) in
            [(0, vec!["enrol", tag]), (1, vec!["note", tag, "horn hoarse"]), (2, vec!["note", tag, "oil"])]
        {
            let (exit, _, err) = asfound(folder.path(), minute, &words);
            assert_eq!(exit, Exit::Done, "{err}");
        }
    }
    folder
}

const LAST: &str = "A journal that was rewritten from some entry to its very last, or cut short,
shows it only to somebody who kept a seal of it.
";

#[test]
fn sound_journals() {
    let folder = garage();
    let (exit, out, err) = asfound(folder.path(), 9, &["audit", "wren"]);
    let wanted = format!(
        "wren · audit · 3 entries\n{}\nAs far as the journal itself can show, entries 1 to 3 are sound.\n\n{LAST}",
        "═".repeat(80)
    );
    assert_eq!((exit, out.as_str(), err.as_str()), (Exit::Done, wanted.as_str(), ""));

    let (exit, out, _) = asfound(folder.path(), 9, &["audit"]);
    assert_eq!(exit, Exit::Done);
    assert_eq!(
        out,
        format!(
            "audit · 2 journals · 6 entries\n{}\nVEHICLE   ENTRIES   SOUND UNTIL   FINDINGS\n{}\nrook            3             3   –\n\
             wren            3             3   –\n\n{LAST}",
            "═".repeat(80),
            "─".repeat(42)
        )
    );
    let (_, out, _) = asfound(folder.path(), 9, &["audit", "wren", "--json"]);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    let wanted = serde_json::json!({
        "schema": "asfound/audit/1",
        "garage": folder.path(),
        "sound": true,
        "journals": [
            {
                "vehicle": "wren", "entries_checked": 3, "sound_until": 3, "lost_from": null,
                "signatures": { "good": 0, "unknown": 0, "bad": 0, "missing": 3 }, "findings": [],
            }
        ],
        "seals": null,
    });
    assert_eq!(json, wanted);
}

#[test]
fn what_was_tampered_with_ends_with_1() {
    let folder = garage();
    git(folder.path(), &["update-ref", "refs/heads/wren", "rook"]);
    let (exit, out, _) = asfound(folder.path(), 9, &["audit"]);
    assert_eq!(exit, Exit::No);
    assert_eq!(
        out,
        format!(
            "audit · 2 journals · 6 entries\n{rule}\nVEHICLE   ENTRIES   SOUND UNTIL   FINDINGS\n{under}\n\
             rook            3             3   –\nwren            3             –   1 tampering\n\n\
             wren · audit · 3 entries\n{rule}\nnote well: trust is lost from entry 1 on; no entry is sound for certain\n\n\
             ENTRY   LEVEL        FINDING\n{wide}\n    1   tampering    `vehicle.toml` is about `rook`: this is the journal of\n\
             {indent}another vehicle\n\n{LAST}",
            rule = "═".repeat(80),
            under = "─".repeat(45),
            wide = "─".repeat(75),
            indent = " ".repeat(21),
        )
    );
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
}

#[test]
fn what_cannot_be_read_ends_with_4() {
    let folder = garage();
    let id = git(folder.path(), &["rev-parse", "wren~1:entry.toml"]);
    std::fs::remove_file(folder.path().join("journals.git/objects").join(&id[..2]).join(&id[2..])).unwrap();
    let (exit, out, _) = asfound(folder.path(), 9, &["audit", "wren", "--json"]);
    assert_eq!(exit, Exit::Damaged);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    let commit = git(folder.path(), &["rev-parse", "wren~1"]);
    let finding = serde_json::json!({
        "level": "unreadable",
        "entry": 2,
        "commit": commit,
        "kind": "object-missing",
        "message": format!("blob {id} is missing (`entry.toml`)"),
    });
    let wanted = serde_json::json!({
        "vehicle": "wren", "entries_checked": 3, "sound_until": 1, "lost_from": 2,
        "signatures": { "good": 0, "unknown": 0, "bad": 0, "missing": 3 }, "findings": [finding],
    });
    assert_eq!((&json["sound"], &json["journals"][0]), (&serde_json::json!(false), &wanted));
}

#[test]
fn doubts_end_with_0_and_unknown_vehicles_with_2() {
    let folder = garage();
    let (exit, ..) = asfound(folder.path(), -60, &["note", "wren", "a clock was wrong"]);
    assert_eq!(exit, Exit::Done);
    let (exit, out, _) = asfound(folder.path(), 9, &["audit", "wren"]);
    assert_eq!(exit, Exit::Done);
    assert!(out.contains("entries 1 to 4 are sound"), "{out}");
    assert!(out.contains("    4   doubt        it was recorded at 2026-03-14T08:20:00+01:00"), "{out}");
    let (exit, _, err) = asfound(folder.path(), 9, &["audit", "finch"]);
    assert_eq!(exit, Exit::Usage);
    assert!(err.starts_with("asfound: there is no vehicle `finch` in this garage\n"), "{err}");
}

fn seal(garage: &Path, n: &str) -> String {
    let (exit, out, err) = asfound(garage, 9, &["seal", "wren", "--at", n, "--json"]);
    assert_eq!(exit, Exit::Done, "{err}");
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    json["seal"]["short"].as_str().unwrap().to_owned()
}

/// Entries 1 to 3 and a fourth; then the journal is set back to entry 2 and goes on otherwise.
#[test]
fn kept_seals_show_what_was_rewritten() {
    let folder = garage();
    asfound(folder.path(), 3, &["note", "wren", "tyres"]);
    let seals: Vec<String> = ["1", "2", "3", "4"].iter().map(|n| seal(folder.path(), n)).collect();
    let audit = |kept: &[&str]| {
        let words: Vec<&str> =
            ["audit", "wren"].into_iter().chain(kept.iter().flat_map(|seal| ["--seal", seal])).collect();
        let (exit, out, _) = asfound(folder.path(), 9, &words);
        assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
        let flowing = out.split_whitespace().collect::<Vec<_>>().join(" ");
        (exit, flowing)
    };
    let (exit, out) = audit(&[&seals[1], &seals[3]]);
    assert_eq!(exit, Exit::Done);
    assert!(
        out.contains("Its first 2 entries are those that were sealed, in their order; 2 entries were added since."),
        "{out}"
    );
    assert!(
        out.contains("Its first 4 entries are those that were sealed, in their order; none was added since."),
        "{out}"
    );

    git(folder.path(), &["update-ref", "refs/heads/wren", "wren~2"]);
    let (exit, out) = audit(&[&seals[3]]);
    assert_eq!(exit, Exit::No);
    assert!(out.contains("note well: the seal over 4 entries does not hold: here are 2."), "{out}");

    for note in ["brakes", "tyres"] {
        asfound(folder.path(), 3, &["note", "wren", note]);
    }
    // To itself the journal is sound.
    assert_eq!(asfound(folder.path(), 9, &["audit", "wren"]).0, Exit::Done);
    let (exit, out) = audit(&[&seals[3], &seals[0]]);
    assert_eq!(exit, Exit::No);
    assert!(out.contains("note well: the seal over 4 entries does not hold: an entry was altered"), "{out}");
    assert!(out.contains("is one of 2 to 4."), "{out}");
    let (_, out) = audit(&[&seals[3], &seals[0], &seals[1], &seals[2]]);
    assert!(out.contains("entry 3 is not the one that was sealed"), "{out}");
    let (exit, out, _) = asfound(folder.path(), 9, &["audit", "wren", "--seal", &seals[3], "--json"]);
    assert_eq!(exit, Exit::No);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!((&json["sound"], &json["seals"]["differs"]["until"]), (&false.into(), &4.into()));
    let (exit, _, err) = asfound(folder.path(), 9, &["audit", "--seal", &seals[0]]);
    assert!(exit == Exit::Usage, "{err}");
}
