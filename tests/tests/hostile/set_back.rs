//! A journal that was further yesterday: it is said, nothing is numbered twice, and there is a way back.

use std::fs;
use std::path::Path;
use std::process::Command;

use asfound_tests::{Workshop, plain_git};

use crate::support::{Ended, run};

/// Files two notes as processes, which remember it.
fn with_notes() -> Workshop {
    let mut shop = Workshop::with_wren();
    for line in ["note wren 'a first note'", "note wren 'a second note'"] {
        let ended = run(&mut shop, line);
        assert_eq!(ended.exit, 0, "{}", ended.err);
    }
    shop
}

#[track_caller]
fn says_so(ended: &Ended, line: &str) {
    assert!(ended.said().contains("the journal of `wren` was further"), "{line}: {}{}", ended.out, ended.err);
}

fn copied(from: &Path, to: &Path) {
    let done = Command::new("cp").arg("-a").arg(from).arg(to).status().expect("there is cp");
    assert!(done.success());
}

#[test]
fn a_branch_that_was_set_back_is_told_of_and_not_filed_upon() {
    let mut shop = with_notes();
    let before = shop.tip("wren").unwrap();
    let _ = plain_git::text(&shop.repository(), &["update-ref", "refs/heads/wren", "wren~1"]);
    let back = shop.tip("wren");
    for line in ["entries wren", "settings wren", "entry wren 1", "change wren body.lane_change_flashes=5"] {
        let ended = run(&mut shop, line);
        says_so(&ended, line);
    }
    let ended = run(&mut shop, "note wren 'a third note'");
    says_so(&ended, "note");
    assert_eq!(ended.exit, 3, "{}", ended.err);
    assert_eq!(shop.tip("wren"), back);
    // The way back that is offered is one.
    assert!(ended.said().contains("update-ref refs/heads/wren"), "{}", ended.err);
    let _ = plain_git::text(&shop.repository(), &["update-ref", "refs/heads/wren", &before]);
    let ended = run(&mut shop, "note wren 'a third note'");
    assert_eq!((ended.exit, ended.err.as_str()), (0, ""));
}

/// A folder that was deleted and a garage that is made in its place: whoever does that is told once, and goes on.
#[test]
fn a_new_garage_in_the_place_of_another_is_not_taken_for_it() {
    let mut shop = with_notes();
    fs::remove_dir_all(shop.garage()).unwrap();
    let ended = run(&mut shop, "enrol wren");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    assert!(ended.said().contains("another garage was here before, with a journal of `wren`"), "{}", ended.err);
    let ended = run(&mut shop, "note wren 'the first of this one'");
    assert_eq!((ended.exit, ended.err.as_str()), (0, ""));
}

/// Two sticks that are mounted at one place each have a car of the same tag: neither was ever further.
#[test]
fn another_garage_at_the_same_place_is_not_accused() {
    let mut shop = with_notes();
    let aside = shop.folder().join("aside");
    fs::rename(shop.garage(), &aside).unwrap();
    let mut other = Workshop::new();
    let _ = other.run("enrol wren").done();
    fs::rename(other.garage(), shop.garage()).unwrap();
    for line in ["entries wren", "vehicles", "note wren 'on the other stick'", "enrol rook", "note rook 'a note'"] {
        let ended = run(&mut shop, line);
        assert_eq!((ended.exit, ended.err.as_str()), (0, ""), "{line}");
    }
    // Back to the first, which has no such car.
    fs::rename(shop.garage(), shop.folder().join("second")).unwrap();
    fs::rename(&aside, shop.garage()).unwrap();
    for line in ["entries wren", "vehicles", "note wren 'a third note'", "enrol rook"] {
        let ended = run(&mut shop, line);
        assert_eq!((ended.exit, ended.err.as_str()), (0, ""), "{line}");
    }
}

#[test]
fn a_copy_that_was_restored_is_told_of_and_share_brings_it_back() {
    let mut shop = with_notes();
    let copy = shop.folder().join("copy");
    copied(&shop.garage(), &copy);
    let ended = run(&mut shop, "note wren 'a third note'");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    let ended = run(&mut shop, "share ./cars.git --new");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    let before = shop.tip("wren");
    fs::remove_dir_all(shop.garage()).unwrap();
    copied(&copy, &shop.garage());
    let ended = run(&mut shop, "note wren 'another third note'");
    says_so(&ended, "note");
    assert_eq!(ended.exit, 3);
    assert!(ended.said().contains("share with a place that has it"), "{}", ended.err);
    let ended = run(&mut shop, "share ./cars.git");
    assert_eq!(ended.exit, 0, "{}{}", ended.out, ended.err);
    assert_eq!(shop.tip("wren"), before);
    let ended = run(&mut shop, "note wren 'a fourth note'");
    assert_eq!((ended.exit, ended.err.as_str()), (0, ""));
}

#[test]
fn a_branch_that_is_gone_is_not_begun_anew() {
    let mut shop = with_notes();
    let _ = plain_git::text(&shop.repository(), &["update-ref", "-d", "refs/heads/wren"]);
    for line in ["vehicles", "entries wren"] {
        let ended = run(&mut shop, line);
        says_so(&ended, line);
    }
    let ended = run(&mut shop, "enrol wren");
    says_so(&ended, "enrol");
    assert_eq!(ended.exit, 3, "{}", ended.err);
    assert_eq!(shop.tip("wren"), None);
    // Whoever knows that it is lost for good can begin again.
    let hint = ended.said();
    let file = hint.split("lost for good, remove ").nth(1).unwrap().split_whitespace().next().unwrap().to_owned();
    fs::remove_file(shop.folder().join(file)).unwrap();
    let ended = run(&mut shop, "enrol wren");
    assert_eq!(ended.exit, 0, "{}", ended.err);
}

#[test]
fn what_others_file_and_what_is_brought_together_is_no_loss() {
    let mut shop = with_notes();
    // Another program, which remembers nothing.
    let _ = shop.run("note wren 'a third note'").done();
    let ended = run(&mut shop, "entries wren");
    assert_eq!((ended.exit, ended.err.as_str()), (0, ""));
    // Entries that were put behind others: the line in which they stood is kept.
    let _ = shop.run("share ./cars.git --new").done();
    let _ = shop.run("--garage ./two share ./cars.git").done();
    let _ = shop.run("--garage ./two note wren 'bench two'").done();
    let _ = shop.run("--garage ./two share ./cars.git").done();
    let ended = run(&mut shop, "note wren 'bench one'");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    // By a program that remembers nothing either.
    let _ = shop.run("share ./cars.git").done();
    for line in ["entries wren", "note wren 'and on'"] {
        let ended = run(&mut shop, line);
        assert_eq!((ended.exit, ended.err.as_str()), (0, ""), "{line}");
    }
}
