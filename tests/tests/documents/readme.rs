//! What the README shows is what the program prints.

use std::fs;
use std::path::Path;

use asfound_tests::demonstration;

/// The blocks of the README that show a command and its output.
fn blocks(readme: &str) -> Vec<&str> {
    let consoles = readme.split("```console\n").skip(1);
    consoles.map(|rest| rest.split("\n```").next().expect("there is always a first part")).collect()
}

#[test]
fn every_console_of_the_tour_is_played_by_the_demonstration() {
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../README.md")).expect("the README");
    let played = demonstration();
    let blocks = blocks(&readme);
    assert!(blocks.len() >= 5, "the tour has only {} consoles", blocks.len());
    for block in blocks {
        let command = block.lines().next().unwrap_or_default();
        assert!(played.contains(block), "the demonstration does not print this any more:\n{command}");
    }
}

#[test]
fn the_demonstration_keeps_to_eighty_columns() {
    for line in demonstration().lines().filter(|line| !line.starts_with("$ ") && !line.contains('/')) {
        assert!(line.chars().count() <= 80, "{line}");
    }
}
