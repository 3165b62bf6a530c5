//! Every content is on the disk before it gets its name, every name before the journal ends with the entry, and that before the
//! program says so: an entry that is told of survives a power cut.

use std::path::{Path, PathBuf};

use crate::{BINARY, shim, workshop};

/// What the program did, in its order.
#[derive(Debug, PartialEq)]
enum Done {
    Synced(PathBuf),
    Named(PathBuf, PathBuf),
}

fn done(told: &str) -> Vec<Done> {
    let mut done = Vec::new();
    let mut from = None;
    for line in told.lines() {
        let (what, path) = line.split_once(' ').expect("a line has a word and a path");
        match what {
            "synced" => done.push(Done::Synced(path.into())),
            "from" | "of" => from = Some(PathBuf::from(path)),
            // Another name of a file whose contents last.
            "linked" if synced(&done, &from.take().expect("a name is given to something")) => {
                done.push(Done::Synced(path.into()));
            }
            "linked" => {}
            _ => done.push(Done::Named(from.take().expect("a name is given to something"), path.into())),
        }
    }
    done
}

/// Whether `path` was synced in this part of what was done.
fn synced(part: &[Done], path: &Path) -> bool {
    part.iter().any(|done| matches!(done, Done::Synced(found) if found == path))
}

#[test]
fn contents_are_synced_before_they_are_named_and_names_before_the_journal_moves() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let Some(shim) = shim(&folder) else { return };
    for (line, tag) in [("note wren 'a note'", "wren"), ("import ./in --enrol --partial", "rook")] {
        let mut shop = workshop();
        let log = shop.folder().join("told");
        let output = shop.process(BINARY, line).env("LD_PRELOAD", &shim).env("FAULT_TOLD", &log).output();
        assert!(output.expect("the binary can be started").status.success());
        let done = done(&std::fs::read_to_string(&log).expect("the shim was loaded and has told"));

        let repository = shop.repository().canonicalize().expect("it is there");
        let head = repository.join("refs/heads").join(tag);
        let named = |to: &Path| done.iter().position(|done| matches!(done, Done::Named(_, found) if found == to));
        let moves = named(&head).expect("the journal moves");
        let mut objects = 0;
        for (at, (from, to)) in done.iter().enumerate().filter_map(|(at, done)| match done {
            Done::Named(from, to) if to.starts_with(&repository) => Some((at, (from, to))),
            _ => None,
        }) {
            assert!(synced(&done[..at], from), "{line}: {} was not synced before it was named", to.display());
            let above = to.parent().expect("it lies in a folder");
            let until = if to.starts_with(repository.join("objects")) { moves } else { done.len() };
            assert!(at < until, "{line}: {} was named after the journal moved", to.display());
            assert!(synced(&done[at..until], above), "{line}: the name of {} was not synced", to.display());
            objects += usize::from(to.starts_with(repository.join("objects")));
        }
        // A note has its own text, the blind, the manifest, the root folder and the commit; a pack has an index.
        assert_eq!(objects, if line.starts_with("note") { 5 } else { 2 }, "{line}: {done:#?}");
    }
}
