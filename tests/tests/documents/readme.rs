//! What the README and the tour show is what the program does.

use std::fs;
use std::path::Path;

use asfound_tests::{Workshop, demonstration};

fn document(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The blocks of a document that begin with a fence of this kind.
fn blocks<'t>(text: &'t str, kind: &str) -> Vec<&'t str> {
    let fence = format!("```{kind}\n");
    let begins = text.match_indices(&fence).map(|(at, _)| &text[at + fence.len()..]);
    begins.map(|rest| rest.split("\n```").next().expect("there is always a first part")).collect()
}

#[test]
fn every_console_of_the_tour_is_played_by_the_demonstration() {
    let tour = document("docs/tour.md");
    let played = demonstration();
    let blocks = blocks(&tour, "console");
    assert!(blocks.len() >= 5, "the tour has only {} consoles", blocks.len());
    for block in blocks {
        let command = block.lines().next().unwrap_or_default();
        assert!(played.contains(block), "the demonstration does not print this any more:\n{command}");
    }
}

#[test]
fn the_first_commands_of_the_readme_work_as_they_stand() {
    let readme = document("README.md");
    let block =
        *blocks(&readme, "sh").iter().find(|block| block.contains("asfound enrol")).expect("the first commands");
    let mut shop = Workshop::new();
    let mut commands = 0;
    for line in block.lines() {
        if let Some(rest) = line.strip_prefix("printf '") {
            let (text, file) = rest.split_once("' > ").expect("a text and a file");
            shop.write(file, text.replace("\\n", "\n"));
        } else if let Some(command) = line.strip_prefix("asfound ") {
            // Files of the working folder are in the workshop's.
            let command = [" before.csv", " after.csv", " wren.html"]
                .iter()
                .fold(command.to_owned(), |line, name| line.replace(name, &format!(" ./{}", name.trim_start())));
            let _ = shop.run(&command).done();
            commands += 1;
        } else {
            assert!(line.starts_with("export ASFOUND_GARAGE="), "what is this? {line}");
        }
    }
    assert_eq!(commands, 7);
    let life = shop.run("entries wren body.lane_change_flashes").done();
    assert!(life.out.contains("read back"), "{}", life.out);
}

#[test]
fn every_document_that_another_one_names_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folders = ["", "docs", "tests/oracles", "demo-vehicles", "fuzz"];
    let files = folders.iter().flat_map(|folder| fs::read_dir(root.join(folder)).expect("a folder"));
    let documents =
        files.map(|file| file.expect("a file").path()).filter(|path| path.extension().is_some_and(|end| end == "md"));
    let mut links = 0;
    for path in documents {
        let text = fs::read_to_string(&path).expect("a document");
        for target in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = target.split('#').next().unwrap_or_default();
            if file.is_empty() || file.contains("://") || file.contains(' ') {
                continue;
            }
            links += 1;
            assert!(path.parent().expect("a folder").join(file).exists(), "{} names {target}", path.display());
        }
    }
    assert!(links > 80, "only {links} links were found");
}

#[test]
fn the_demonstration_keeps_to_eighty_columns() {
    for line in demonstration().lines().filter(|line| !line.starts_with("$ ") && !line.contains('/')) {
        assert!(line.chars().count() <= 80, "{line}");
    }
}
