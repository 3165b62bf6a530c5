//! `seal` and `disclose`, run as a user runs them, on the journal that the demonstration leaves behind.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use asfound::{Environment, Exit, Zone, run};
use serde_json::Value;
use tempfile::TempDir;
use time::macros::{datetime, offset};

/// The garage of the demonstration: seventeen entries of the car `wren`. No test here writes into it.
static GARAGE: LazyLock<PathBuf> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("seal_and_disclose");
    if folder.exists() {
        std::fs::remove_dir_all(&folder).unwrap();
    }
    let (exit, _, err) = run_in(None, &["demo", "--in", &folder.display().to_string()]);
    assert_eq!(exit, Exit::Done, "{err}");
    folder.join("garage")
});

/// A bench with that garage, and a folder of its own for what is written.
struct Bench {
    folder: TempDir,
    garage: &'static Path,
}

impl Bench {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), garage: &GARAGE }
    }

    /// Somebody else's bench, with the same folder and no garage.
    fn elsewhere(&self) -> Elsewhere<'_> {
        Elsewhere(self.folder.path())
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    fn run(&self, words: &[&str]) -> (Exit, String, String) {
        run_in(Some(self.garage.to_owned()), words)
    }

    fn text(&self, words: &[&str]) -> String {
        let (exit, out, err) = self.run(words);
        assert_eq!(exit, Exit::Done, "{words:?}: {out}{err}");
        out
    }

    fn json(&self, words: &[&str]) -> Value {
        let words = [&["--json"], words].concat();
        serde_json::from_str(&self.text(&words)).unwrap()
    }

    fn short(&self, words: &[&str]) -> String {
        self.json(words)["seal"]["short"].as_str().unwrap().to_owned()
    }
}

struct Elsewhere<'b>(&'b Path);

impl Elsewhere<'_> {
    fn run(&self, words: &[&str]) -> (Exit, String, String) {
        run_in(Some(self.0.join("no garage here")), words)
    }
}

fn run_in(garage: Option<PathBuf>, words: &[&str]) -> (Exit, String, String) {
    let environment = Environment {
        state: None,
        garage,
        author: Some("bench 2".to_owned()),
        account: None,
        agent: None,
        key_passphrase: None,
        locale: None,
        now: datetime!(2026-09-02 10:00 +2),
        zone: Zone::Fixed(offset!(+2)),
        width: 80,
        colour: false,
        colour_of_errors: false,
        interactive: false,
    };
    let arguments = std::iter::once("asfound").chain(words.iter().copied()).map(OsString::from);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = run(arguments, Some(environment), &mut out, &mut err);
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

fn assert_fits_the_page(text: &str) {
    let long = text.lines().find(|line| line.chars().count() > 80);
    assert_eq!(long, None);
}

#[test]
fn a_seal_is_printed_in_every_form() {
    let bench = Bench::new();
    let text = bench.text(&["seal", "wren"]);
    assert_fits_the_page(&text);
    let json = bench.json(&["seal", "wren"]);
    assert_eq!(json["schema"], "asfound/seal/1");
    let seal = &json["seal"];
    assert_eq!((&seal["entries"], &json["entries_in_journal"]), (&Value::from(17), &Value::from(17)));
    // The short form stands alone on its line.
    assert!(text.lines().any(|line| line == seal["short"]), "{text}");
    assert!(text.contains(seal["full"].as_str().unwrap()));
    // The checkpoint is the three lines of the standard and no more.
    let note = bench.text(&["seal", "wren", "--checkpoint"]);
    let lines: Vec<&str> = note.lines().collect();
    assert_eq!((lines.len(), lines[1]), (3, "17"));
    assert!(lines[0].starts_with("asfound/wren/"), "{note}");
    assert_eq!(bench.json(&["seal", "wren", "--checkpoint"])["text"], note);
    // What the journal states in entry 7 is the seal as it was after entry 6.
    let at = bench.json(&["seal", "wren", "--at", "6"]);
    let git = std::process::Command::new("git")
        .arg("-C")
        .arg(bench.garage.join("journals.git"))
        .args(["show", "wren~10:entry.toml"])
        .output()
        .unwrap();
    let entry: toml::Table = toml::from_str(&String::from_utf8(git.stdout).unwrap()).unwrap();
    assert_eq!(entry["number"].as_integer(), Some(7));
    assert_eq!(entry["chain"]["root"].as_str(), at["seal"]["root"].as_str());
}

#[test]
fn an_extension_is_proven_to_somebody_without_the_journal() {
    let bench = Bench::new();
    let (old, now) = (bench.short(&["seal", "wren", "--at", "5"]), bench.short(&["seal", "wren"]));
    let file = bench.path("proof.toml");
    let text = bench.text(&["audit", "wren", "--seal", &old.to_lowercase(), "--out", &file]);
    assert_fits_the_page(&text.replace(&bench.path(""), ""));
    assert!(text.contains("sealed, in their order; 12 entries were\nadded since"), "{text}");
    // Nothing is written over.
    let (exit, _, err) = bench.run(&["audit", "wren", "--seal", &old, "--out", &file]);
    assert_eq!(exit, Exit::Usage);
    assert!(err.contains("is there already"), "{err}");

    let check = |words: &[&str]| bench.elsewhere().run(&[&["audit", &file], words].concat());
    let (exit, out, _) = check(&["--seal", &old, "--until", &now]);
    assert!(exit == Exit::Done && out.contains("It holds") && !out.contains("remark"), "{out}");
    let (exit, out, _) = check(&[]);
    assert!(exit == Exit::Done && out.contains("remark: both seals are as the file states them"), "{out}");
    let (exit, out, _) = check(&["--seal", &now]);
    assert!(exit == Exit::No && out.contains("note well: the earlier seal is not the one"), "{out}");
    // A root of the proof altered.
    let text = std::fs::read_to_string(&file).unwrap();
    let at = text.find("path = [").unwrap() + 20;
    let other = if text.as_bytes()[at] == b'0' { "1" } else { "0" };
    std::fs::write(&file, format!("{}{other}{}", &text[..at], &text[at + 1..])).unwrap();
    let (exit, out, _) = check(&["--seal", &old]);
    assert!(exit == Exit::No && out.contains("no way leads from the earlier seal"), "{out}");

    // A seal of another journal, one of later, and one with a typing error.
    let other = "00005-00000-00000-00000-00000-0000";
    let other = "0123456789ABCDEFGHJKMNPQRSTVWXYZ".chars().map(|c| format!("{other}{c}"));
    let accepted: Vec<_> =
        other.filter(|seal| bench.run(&["audit", "wren", "--seal", seal]).0 != Exit::Usage).collect();
    assert_eq!(accepted.len(), 1, "one check character fits");
    let (exit, out, _) = bench.run(&["audit", "wren", "--seal", &accepted[0], "--out", &bench.path("none.toml")]);
    assert!(exit == Exit::No && out.contains("note well: the seal over 5 entries does not hold"), "{out}");
    assert!(!Path::new(&bench.path("none.toml")).exists());
}

#[test]
fn a_disclosure_is_checked_by_somebody_without_the_journal() {
    let bench = Bench::new();
    let file = bench.path("for-the-buyer.toml");
    let seal = bench.short(&["seal", "wren"]);
    let text = bench.text(&["disclose", "wren", "11", "--settings-only", "--with-vehicle", "--out", &file]);
    assert_fits_the_page(&text.replace(&bench.path(""), ""));
    let written = std::fs::read_to_string(&file).unwrap();
    // The buyer sees every setting as the journal has it, and nobody's name or reason.
    let elsewhere = |words: &[&str]| bench.elsewhere().run(&[&["audit", &file], words].concat());
    let (exit, out, err) = elsewhere(&["--seal", &seal, "--json"]);
    assert_eq!(exit, Exit::Done, "{err}");
    let checked: Value = serde_json::from_str(&out).unwrap();
    let told: Vec<(String, Value)> = checked["entries"][0]["settings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| (format!("{}.{}", s["module"].as_str().unwrap(), s["setting"].as_str().unwrap()), s["value"].clone()))
        .collect();
    let known = bench.json(&["settings", "wren", "--at", "11"]);
    let known: Vec<(String, Value)> = known["settings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|setting| !setting["setting"].as_str().unwrap().contains(" undeclared"))
        .map(|setting| (setting["setting"].as_str().unwrap().to_owned(), setting["content"]["text"].clone()))
        .collect();
    assert_eq!(told, known);
    for word in ["bench 1", "bench 2", "owner wants", "carries shopping", "entry.toml"] {
        assert!(!written.contains(word), "{word}");
    }
    let (exit, out, _) = elsewhere(&[]);
    assert!(exit == Exit::Done && out.contains("remark: compare that seal"), "{out}");
    assert_fits_the_page(&out.replace(&bench.path(""), ""));

    // Another seal, a typing error, an altered file, a file of another kind.
    let older = bench.short(&["seal", "wren", "--at", "9"]);
    let (exit, out, _) = elsewhere(&["--seal", &older]);
    assert!(exit == Exit::No && out.contains("proven against a seal over 17 entries"), "{out}");
    let (exit, _, err) = elsewhere(&["--seal", &seal[1..]]);
    assert!(exit == Exit::Usage && err.contains("one is missing"), "{err}");
    std::fs::write(&file, written.replacen("tow_bar = \"not fitted\"", "tow_bar = \"fitted\"", 1)).unwrap();
    let (exit, out, _) = elsewhere(&["--seal", &seal]);
    assert!(exit == Exit::No && out.contains("note well: entry 11: modules/body.toml is not the file"), "{out}");
    assert!(!out.contains("tow_bar"), "{out}");
    std::fs::write(&file, "format = \"asfound-extension/1\"\n").unwrap();
    let (exit, _, err) = elsewhere(&[]);
    assert!(
        exit == Exit::Usage
            && err.split_whitespace().collect::<Vec<_>>().join(" ").contains("this is not a proof of an extension"),
        "{err}"
    );
    std::fs::write(&file, "format = \"asfound-disclosure/9\"\n").unwrap();
    let (exit, _, err) = elsewhere(&[]);
    assert!(exit == Exit::Usage && err.contains("a disclosure has `asfound-disclosure/1`"), "{err}");
    std::fs::write(&file, "what is this?").unwrap();
    let (exit, _, err) = elsewhere(&[]);
    assert!(exit == Exit::Usage && err.contains("such a file begins with"), "{err}");
    let (exit, _, err) = bench.elsewhere().run(&["audit", &bench.path("nowhere.toml")]);
    assert!(exit == Exit::Usage && err.contains("a vehicle is named by its tag"), "{err}");
}

#[test]
fn one_change_is_shown_without_the_others() {
    let bench = Bench::new();
    let file = bench.path("change.toml");
    let made = bench.json(&["disclose", "wren", "3", "--module", "body", "--at", "6", "--out", &file]);
    assert_eq!(made["schema"], "asfound/disclosed/1");
    assert_eq!(made["entries"][0]["number"], 3);
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains("owner wants five flashes"));
    for word in ["shopping", "climate", "modules/brakes", "merl-brakes", "G0MSR41E0LT004217", "grey estate"] {
        assert!(!text.contains(word), "{word}");
    }
    let seal = bench.short(&["seal", "wren", "--at", "6"]);
    let (exit, out, _) = bench.elsewhere().run(&["audit", &file, "--seal", &seal]);
    assert!(exit == Exit::Done && out.contains("the seal is the one that was kept"), "{out}");
    let (exit, _, err) = bench.run(&["disclose", "wren", "7", "--at", "6", "--out", &bench.path("none.toml")]);
    assert!(exit == Exit::Usage && err.contains("entry 7 does not belong to the seal"), "{err}");
    let (exit, _, err) = bench.run(&["disclose", "wren", "7", "--module", "roof", "--out", &bench.path("none.toml")]);
    assert!(exit == Exit::Usage && err.contains("knows a module `roof`") && err.contains("body, "), "{err}");
    assert!(!Path::new(&bench.path("none.toml")).exists());
    let (exit, _, err) = bench.run(&["disclose", "wren", "3"]);
    assert!(exit == Exit::Usage && err.contains("--out <FILE>"), "{err}");
}
