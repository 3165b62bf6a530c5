//! Disclosures that somebody altered.

use asfound_journal::disclosure::{Disclosure, DisclosureFinding, DisclosureRequest, ModuleChoice};
use asfound_journal::seal::{KeptSeal, Seal};

use crate::story::{Story, modules, number};

fn whole(story: &Story) -> Disclosure {
    story.disclose(&[2, 3], &DisclosureRequest { modules: ModuleChoice::All, vehicle: true, settings_only: false })
}

/// What is found in the text after a replacement.
fn findings(text: &str, from: &str, to: &str) -> Vec<DisclosureFinding> {
    assert!(text.contains(from), "{from}");
    Disclosure::parse(&text.replacen(from, to, 1)).unwrap().check(None)
}

#[test]
fn what_was_altered_is_named() {
    let story = Story::new();
    let text = whole(&story).to_text();
    let path = |path: &str| path.parse().unwrap();
    let altered = |entry: u32, file: &str| DisclosureFinding::FileAltered { number: number(entry), path: path(file) };
    // A content; the first is that of entry 2, whose module files come before those of entry 3.
    assert_eq!(findings(&text, "quiet = \"off\"", "quiet = \"on\""), [altered(2, "modules/body.toml")]);
    assert_eq!(findings(&text, "quiet = \"on\"", "quiet = \"off\""), [altered(3, "modules/body.toml")]);
    assert_eq!(
        findings(&text, "path = \"vehicle.toml\"", "path = \"vehiclf.toml\""),
        [altered(2, "vehicle.toml".replace("cle", "clf").as_str())]
    );
    // A blind, a line, the path, the seal.
    let table: toml::Table = toml::from_str(&text).unwrap();
    let entry = &table["entries"][1];
    let swap = |digest: &toml::Value| {
        let digest = digest.as_str().unwrap();
        let other = if digest.starts_with('0') { "1" } else { "0" };
        findings(&text, digest, &format!("{other}{}", &digest[1..]))
    };
    assert_eq!(swap(&entry["files"][0]["blind"]), [altered(3, entry["files"][0]["path"].as_str().unwrap())]);
    let not_in_seal = |entry: u32| DisclosureFinding::NotInSeal { number: number(entry) };
    // The blind's own line is not shown; the others belong to files, which then differ too.
    assert_eq!(swap(&entry["lines"][0]), [not_in_seal(3)]);
    assert_eq!(swap(&entry["lines"][1])[0], not_in_seal(3));
    assert_eq!(swap(&entry["path"][0]), [not_in_seal(3)]);
    let seal = table["seal"].as_str().unwrap();
    let other = Seal { root: asfound_journal::Digest::of(b"other"), ..seal.parse().unwrap() };
    assert_eq!(findings(&text, seal, &other.to_string()), [not_in_seal(2), not_in_seal(3)]);
    // One entry passed off as another.
    let found = findings(&text, "number = 3\npath", "number = 4\npath");
    let misnumbered = DisclosureFinding::Misnumbered { number: number(4) };
    assert_eq!(found, [not_in_seal(4), misnumbered]);
}

/// Every byte of the file behind its opening comment, replaced: what can still be read is found out, or says the same.
#[test]
fn every_altered_byte_is_found() {
    let story = Story::new();
    let disclosure =
        story.disclose(&[3], &DisclosureRequest { modules: modules(&["body"]), ..DisclosureRequest::default() });
    let kept = KeptSeal::from(*disclosure.seal());
    let text = disclosure.to_text();
    let start = text.find("format =").unwrap();
    let (mut found, mut unreadable) = (0, 0);
    for at in start..text.len() {
        let mut bytes = text.clone().into_bytes();
        bytes[at] ^= 1;
        match std::str::from_utf8(&bytes).ok().and_then(|text| Disclosure::parse(text).ok()) {
            None => unreadable += 1,
            Some(other) if other == disclosure => {}
            Some(other) => {
                found += 1;
                assert_ne!(other.check(Some(&kept)), [], "at {at}");
            }
        }
    }
    assert!(found > 1500 && unreadable > 100, "{found} {unreadable}");
}

#[test]
fn what_has_more_than_one_reading_is_refused() {
    let story = Story::new();
    let text = whole(&story).to_text();
    let refused = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        Disclosure::parse(&text.replacen(from, to, 1)).unwrap_err().to_string()
    };
    assert!(refused("number = 3\npath", "number = 2\npath").contains("in order, each once"));
    assert!(refused("line = 2\n", "line = 0\n").contains("has no line 0"));
    assert!(refused("line = 2\n", "line = 99\n").contains("has no line 99"));
    assert!(refused("line = 3\n", "line = 2\n").contains("in the order of their lines"));
    assert!(refused("path = \"vehicle.toml\"", "path = \"../vehicle\"").contains("not allowed as a path"));
    assert!(refused("path = \"vehicle.toml\"", "path = \"zehicle\"\nmore = 1").contains("unknown field"));
    assert!(refused("asfound-disclosure/1", "asfound-disclosure/2").contains("has the format `asfound-disclosure/2`"));
    assert!(Disclosure::parse("seal = 1").is_err());
    let empty = format!("format = \"asfound-disclosure/1\"\nseal = \"{}\"\nentries = []\n", whole(&story).seal());
    assert!(Disclosure::parse(&empty).unwrap_err().to_string().contains("shows no entry"));
}
