//! What a disclosure keeps to itself.

use asfound_journal::disclosure::{Disclosure, DisclosureRequest, ModuleChoice};
use asfound_journal::entry_files::{Blind, line_hash};
use asfound_journal::merkle::inclusion_path;
use asfound_journal::{Digest, FilePath};

use crate::story::{AUTHOR, CUSTOMER, Story, VIN, modules};

/// Everything of the journal that could be told from the outside: each file of each entry, as text.
fn all_files(story: &Story) -> Vec<(u32, String, String)> {
    let mut all = Vec::new();
    for (entry, filed) in (1u32..).zip(story.entries()) {
        let (manifest, _) = story.journal().manifest(&filed.commit).unwrap();
        all.extend(manifest.iter().map(|(path, _)| (entry, path.to_string(), story.text(entry, path.as_str()))));
    }
    all
}

/// Nothing of a file that is not shown is in the bytes: no content, no line of it, no path, no bare hash, no blind.
#[test]
fn everything_undisclosed_is_absent_from_the_bytes() {
    let story = Story::new();
    let pick = DisclosureRequest { modules: modules(&["body"]), vehicle: false, settings_only: true };
    let text = story.disclose(&[3], &pick).to_text();
    let shown = ["modules/body.toml", "definitions/body-1.toml"];
    let mut told: String = shown.iter().map(|path| story.text(3, path)).collect();
    // The way to the root is told: hashes of the tree, as later entries state them too.
    inclusion_path(&story.leaves(), 2).unwrap().iter().for_each(|node| told.push_str(&format!("    \"{node}\",\n")));
    assert!(text.contains("body.toml") && text.contains("quiet = \"on\""));
    for word in ["climate", CUSTOMER, AUTHOR, "workshop.example", VIN, "wren", "why", "salt", "81200", "2026"] {
        assert!(!text.contains(word), "{word}");
    }
    let mut looked_for = 0;
    for (entry, path, content) in all_files(&story) {
        if entry == 3 && shown.contains(&path.as_str()) {
            continue;
        }
        if !told.contains(&content) {
            assert!(!text.contains(&content), "entry {entry}: {path}");
            assert!(!text.contains(&Digest::of(content.as_bytes()).to_string()), "entry {entry}: {path}");
        }
        for line in content.lines().filter(|line| line.len() > 12 && !told.contains(line)) {
            looked_for += 1;
            assert!(!text.contains(line), "entry {entry}, {path}: {line}");
        }
        let blind: Blind = story.text(entry, "blind").parse().unwrap();
        assert!(!text.contains(blind.to_string().trim_end()));
        let path: FilePath = path.parse().unwrap();
        assert!(!text.contains(&blind.of_path(&path).to_string()), "entry {entry}: {path}");
    }
    assert!(looked_for > 40, "{looked_for}");
    // The same looks find what is shown: they can fail.
    let blind: Blind = story.text(3, "blind").parse().unwrap();
    assert!(text.contains(&blind.of_path(&"modules/body.toml".parse().unwrap()).to_string()));
    let all = story
        .disclose(&[3], &DisclosureRequest { modules: ModuleChoice::All, vehicle: true, settings_only: false })
        .to_text();
    for word in ["climate", CUSTOMER, AUTHOR, "workshop.example", VIN, "wren", "why", "salt", "2026"] {
        assert!(all.contains(word), "{word}");
    }
}

/// Every hash of a line that the disclosure holds.
fn line_hashes(disclosure: &Disclosure) -> Vec<Digest> {
    let table: toml::Table = toml::from_str(&disclosure.to_text()).unwrap();
    let lines = table["entries"][0]["lines"].as_array().unwrap();
    lines.iter().map(|line| line.as_str().unwrap().parse().unwrap()).collect()
}

/// The climate module has one switch, its part number is known and so is its definition: two files are possible. With
/// everything that the disclosure tells, neither can be told from the other.
#[test]
fn a_guessable_file_cannot_be_confirmed() {
    let story = Story::new();
    let pick = DisclosureRequest { modules: modules(&["body"]), ..DisclosureRequest::default() };
    let disclosure = story.disclose(&[3], &pick);
    let path: FilePath = "modules/climate.toml".parse().unwrap();
    let truth = story.text(3, path.as_str());
    let guesses = [truth.clone(), truth.replace("quiet = \"off\"", "quiet = \"on\"").replace("\"00\"", "\"01\"")];
    assert_ne!(guesses[0], guesses[1]);
    let definition = ("definitions/climate-1.toml".parse().unwrap(), story.text(3, "definitions/climate-1.toml"));
    let hashes = line_hashes(&disclosure);

    // Blinds that somebody has who has the file only: those shown, and what can be made of them with the path.
    let table: toml::Table = toml::from_str(&disclosure.to_text()).unwrap();
    let shown = table["entries"][0]["files"].as_array().unwrap();
    let mut blinds: Vec<Digest> = shown.iter().map(|file| file["blind"].as_str().unwrap().parse().unwrap()).collect();
    blinds.extend(disclosure.entries()[0].files().iter().map(|file| Digest::of(file.content().as_bytes())));
    blinds.extend(hashes.clone());
    let made: Vec<Digest> = blinds.iter().map(|blind| Blind::from(*blind.as_bytes()).of_path(&path)).collect();
    blinds.extend(made);
    blinds.extend([Digest::from([0; 32]), Digest::of(b"")]);

    let confirms = |blinds: &[Digest], path: &FilePath, content: &str| {
        let digest = Digest::of(content.as_bytes());
        let line = format!("{digest}  {path}\n");
        let bare = [Digest::of(line.as_bytes()), digest, Digest::of(content.as_bytes())];
        let blinded = blinds.iter().map(|blind| line_hash(blind, path, &digest));
        blinded.chain(bare).any(|hash| hashes.contains(&hash))
    };
    for guess in &guesses {
        assert!(!confirms(&blinds, &path, guess));
    }
    assert!(!confirms(&blinds, &definition.0, &definition.1));
    // The same trial with the line's own blind confirms the truth and only that: the trial can succeed.
    let blind: Blind = story.text(3, "blind").parse().unwrap();
    assert!(confirms(&[blind.of_path(&path)], &path, &guesses[0]));
    assert!(!confirms(&[blind.of_path(&path)], &path, &guesses[1]));
}
