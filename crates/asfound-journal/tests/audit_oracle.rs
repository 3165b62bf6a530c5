//! `tests/oracles/verify.py`, which knows nothing of this program but `docs/format.md`, comes to the same as the audit.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]
#![allow(clippy::print_stderr, reason = "a test that is left out says so")]
#![allow(dead_code, reason = "what is shared is shared with more tests")]

#[path = "audit_damage/keys.rs"]
mod keys;
#[path = "audit_damage/place.rs"]
mod place;
#[path = "audit_damage/sheets.rs"]
mod sheets;
#[path = "audit_damage/story.rs"]
mod story;
#[path = "audit_damage/trees.rs"]
mod trees;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use asfound_journal::sign::Signer;

use keys::{STRANGER, key, made_anew, signed_place, unsigned};
use place::{Place, git, overwrite};
use sheets::{Sheet, audit_of, chain_anew, put, seal, told};
use story::{tag, tell};
use trees::{ODD, with_tree};

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

/// The exit code and what was printed.
fn verify(python: &str, garage: &Path) -> (Option<i32>, String) {
    let output = Command::new(python).arg(script()).arg(garage).stdin(Stdio::null()).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    (output.status.code(), String::from_utf8(output.stdout).unwrap())
}

#[test]
fn a_sound_garage_is_sound_to_both_and_has_the_same_root() {
    let Some(python) = python() else { return };
    let place = Place::told();
    tell(place.garage.store(), &tag("rook"));
    for packed in [false, true] {
        if packed {
            git(&place.repository(), &["gc", "--quiet"]);
        }
        let roots = ["rook", "wren"].map(|name| seal(&audit_of(place.garage.store(), name)).1);
        let wanted = format!(
            "rook: 7 entries checked; root over 7: {}\nwren: 7 entries checked; root over 7: {}\nnothing is wrong\n",
            roots[0], roots[1]
        );
        assert_eq!(verify(python, &place.path()), (Some(0), wanted));
    }
}

type Alteration = fn(&mut Vec<Sheet>);

/// Each way to alter a journal, and a part of what the verifier says of it.
#[test]
fn what_is_altered_is_wrong_to_both() {
    let Some(python) = python() else { return };
    let cases: [(&str, Alteration); 13] = [
        ("entry 4: it is numbered 5", |sheets| drop(sheets.remove(3))),
        ("entry 4: its chain is not what", |sheets| {
            sheets[2].replace("entry.toml", "the owner wants five", "the owner wants four");
            sheets[2].list();
        }),
        ("entry 3: modules/body.toml is not what the manifest says", |sheets| {
            sheets[2].replace("modules/body.toml", "05 10", "06 10");
        }),
        ("entry 3: modules/body.toml does not say what the entries give", |sheets| {
            sheets[2..4].iter_mut().for_each(|sheet| sheet.replace("modules/body.toml", "05 10", "06 10"));
            chain_anew(sheets, 2);
        }),
        (
            "entry 3: modules/body.toml says `4` of lane_change_flashes, its definition makes `5` of the bytes",
            |sheets| {
                let flashes = |value: &str| format!("lane_change_flashes = \"{value}\"");
                sheets[2..4]
                    .iter_mut()
                    .for_each(|sheet| sheet.replace("modules/body.toml", &flashes("5"), &flashes("4")));
                chain_anew(sheets, 2);
            },
        ),
        ("entry 3: evidence/3/paper.txt is not what", |sheets| sheets[2].put("evidence/3/paper.txt", "x")),
        ("entry 3: body 0D01: another content was found than was known", |sheets| {
            sheets[2].replace("entry.toml", "found = \"03 10\"", "found = \"04 10\"");
            sheets[2].list();
        }),
        ("entry 7: trouble-codes.toml does not say", |sheets| {
            sheets[6].replace("trouble-codes.toml", "B1234", "B1235");
            sheets[6].list();
        }),
        ("entry 7: vehicle.toml was altered", |sheets| {
            sheets[6].replace("vehicle.toml", "enrolled = \"2026", "enrolled = \"2025");
            sheets[6].list();
        }),
        ("entry 7: notes.txt is no file of this entry", |sheets| {
            sheets[6].put("notes.txt", "x");
            sheets[6].list();
        }),
        ("entry 7: the commit's author is", |sheets| sheets[6].when += time::Duration::seconds(1)),
        ("entry 7: the commit's message does not give the reason", |sheets| {
            sheets[6].message = "7 reading\n".to_owned();
        }),
        ("entry 7: modules/doors.toml: the file is there and no entry", |sheets| {
            sheets[6].files.remove("modules/doors.toml");
            sheets[6].list();
        }),
    ];
    for (says, alter) in cases {
        let place = Place::new();
        let mut sheets = told();
        alter(&mut sheets);
        put(place.garage.store(), &tag("wren"), &sheets);
        let (exit, text) = verify(python, &place.path());
        assert_eq!(exit, Some(1), "{says}: {text}");
        assert!(text.contains(&format!("wren: {says}")), "{says}: {text}");
        assert!(!audit_of(place.garage.store(), "wren").findings.is_empty(), "{says}");
    }
}

/// What the verifier makes of bytes is what odxtools, bitstruct and construct make of them (`tests/oracles/odx_layouts.py`).
#[test]
fn the_verifier_decodes_as_the_reference_libraries_do() {
    let Some(python) = python() else { return };
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let vectors = root.join("crates/asfound-core/tests/data/layout/odx.jsonl");
    let script = root.join("tests/oracles/decode_settings.py");
    let output = Command::new(python).arg(script).arg(vectors).stdin(Stdio::null()).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text, "4100 of 4100 cases are read as the reference libraries read them\n");
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

/// It may come from a later version of the program: what its settings are, nobody can tell then.
#[test]
fn a_definition_that_the_verifier_does_not_know_is_named() {
    let Some(python) = python() else { return };
    let place = Place::new();
    let mut sheets = told();
    for sheet in &mut sheets[1..] {
        sheet.replace("definitions/invented-body.toml", "asfound-definition/1", "asfound-definition/9");
        sheet.replace("modules/body.toml", "lane_change_flashes = ", "flashes_at_a_lane_change = ");
    }
    chain_anew(&mut sheets, 1);
    put(place.garage.store(), &tag("wren"), &sheets);
    let (exit, text) = verify(python, &place.path());
    let says = "wren: modules/body.toml: its settings were not checked: a definition of the format asfound-definition/9 is \
                not known\n";
    assert_eq!((exit, text.matches(says).count()), (Some(0), 1), "{text}");
}

#[test]
fn what_is_damaged_is_wrong_to_both() {
    let Some(python) = python() else { return };
    for name in ["wren~4", "wren~4^{tree}", "wren~4:entry.toml"] {
        let place = Place::told();
        let file = place.object_file(&place.id(name));
        let mut bytes = fs::read(&file).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 0xFF;
        overwrite(&file, &bytes);
        let output = Command::new(python).arg(script()).arg(place.path()).output().unwrap();
        // Git complains as well, on standard error.
        assert_eq!(output.status.code(), Some(1), "{name}: {}", String::from_utf8_lossy(&output.stdout));
        assert!(!audit_of(place.garage.store(), "wren").is_sound(), "{name}");
    }
}

#[test]
fn an_odd_tree_is_wrong_to_both() {
    let Some(python) = python() else { return };
    for (what, alter, _) in ODD {
        let place = with_tree(alter);
        let (exit, text) = verify(python, &place.path());
        assert_eq!(exit, Some(1), "{what}: {text}");
        assert!(text.starts_with("wren: entry 7"), "{what}: {text}");
    }
}

/// The verifier reads past what makes git read another history, and says that it is there.
#[test]
fn what_lies_beside_is_named_by_both() {
    let Some(python) = python() else { return };
    let place = Place::told();
    let root = seal(&audit_of(place.garage.store(), "wren")).1;
    git(&place.repository(), &["replace", &place.id("wren~4:entry.toml"), &place.id("wren~3:entry.toml")]);
    fs::create_dir_all(place.repository().join("info")).unwrap();
    fs::write(place.repository().join("info/grafts"), format!("{}\n", place.id("wren~2"))).unwrap();
    fs::write(place.repository().join("shallow"), format!("{}\n", place.id("wren~1"))).unwrap();
    let (exit, text) = verify(python, &place.path());
    assert_eq!(exit, Some(1), "{text}");
    for says in ["refs/replace has 1 object", "info/grafts is there", "shallow is there"] {
        assert!(text.contains(says), "{says}: {text}");
    }
    assert!(text.contains(&format!("wren: 7 entries checked; root over 7: {root}")), "{text}");
}

/// git and `ssh-keygen` check the signatures for the verifier; it holds the key against the entry by itself.
#[test]
fn signatures_are_worth_the_same_to_both() {
    let Some(python) = python() else { return };
    let place = signed_place(|entry| if entry == 5 { STRANGER } else { 1 });
    let (exit, text) = verify(python, &place.path());
    assert_eq!(exit, Some(0), "{text}");
    assert!(text.contains("wren: 7 signed, 6 by keys that allowed_signers trusts\n"), "{text}");

    made_anew(&place, |entry, text| if entry == 7 { unsigned(&text) } else { text });
    let (exit, text) = verify(python, &place.path());
    assert_eq!(exit, Some(1), "{text}");
    let fingerprint = key(&place, 1).public_key().fingerprint();
    assert!(text.contains(&format!("entry 7: it was signed with {fingerprint}, and the signature is gone")), "{text}");

    made_anew(&place, |entry, text| if entry == 6 { text + "x" } else { text });
    let (exit, text) = verify(python, &place.path());
    assert_eq!(exit, Some(1), "{text}");
    assert!(text.contains("entry 6: its signature does not hold"), "{text}");
}
