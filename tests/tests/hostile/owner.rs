//! A garage that belongs to another account is read and not written.

use std::fs;
use std::os::unix::fs::{MetadataExt, lchown};
use std::path::Path;

use asfound_tests::Workshop;

use crate::support::{everything, run};

/// Some account that is not ours.
const OTHER: u32 = 54_321;

/// Gives everything below a folder, and itself, to another account; only root may do that.
fn give_away(folder: &Path) -> bool {
    let paths = everything(folder).into_iter().map(|(path, _)| path);
    [folder.to_owned()].into_iter().chain(paths).all(|path| lchown(path, Some(OTHER), None).is_ok())
}

#[expect(clippy::print_stderr, reason = "whoever runs the tests has to know what they did not show")]
pub(crate) fn told_to_skip() {
    eprintln!("skipped: only root may give files to another account");
}

#[test]
fn it_is_read_without_an_index_and_that_is_said() {
    let mut shop = Workshop::with_wren();
    let own = run(&mut shop, "entries wren");
    if !give_away(&shop.garage()) {
        return told_to_skip();
    }
    let before = everything(&shop.garage());
    let since = fs::metadata(shop.garage()).unwrap().mtime_nsec();
    for line in ["entries wren", "settings wren", "vehicles", "audit wren", "seal wren", "compare wren 1 2"] {
        let ended = run(&mut shop, line);
        assert_eq!(ended.exit, 0, "{line}: {}", ended.err);
        assert!(ended.said().contains("belongs to another account"), "{line}: {}", ended.err);
        assert_eq!(ended.err.matches("another account").count(), 1, "{}", ended.err);
        if line == "entries wren" {
            assert_eq!(ended.out, own.out);
        }
    }
    assert_eq!(everything(&shop.garage()), before);
    assert_eq!(fs::metadata(shop.garage()).unwrap().mtime_nsec(), since);
}

#[test]
fn nothing_is_filed_in_it() {
    let mut shop = Workshop::with_wren();
    if !give_away(&shop.garage()) {
        return told_to_skip();
    }
    let before = everything(&shop.garage());
    for line in [
        "note wren 'a note'",
        "pack",
        "enrol rook",
        "definition keep ./body-1.toml",
        "read wren ./as-found.toml --again",
        "share ./cars.git --new",
    ] {
        let ended = run(&mut shop, line);
        assert_eq!(ended.exit, 3, "{line}: {}{}", ended.out, ended.err);
        assert!(ended.said().contains("belongs to another account"), "{line}: {}", ended.err);
        assert_eq!(everything(&shop.garage()), before, "{line}");
    }
}

#[test]
fn one_whose_journals_are_anothers_is_not_written_either() {
    let mut shop = Workshop::with_wren();
    if !give_away(&shop.repository()) {
        return told_to_skip();
    }
    let before = everything(&shop.garage());
    let ended = run(&mut shop, "note wren 'a note'");
    assert_eq!(ended.exit, 3, "{}", ended.err);
    assert_eq!(everything(&shop.garage()), before);
}
