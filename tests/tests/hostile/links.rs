//! Links, pipes and second names where the program writes: nothing outside the garage is touched.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::Command;

use asfound_tests::{Workshop, plain_git};

use crate::support::{everything, run};

/// `wren` in a garage, and beside it somebody's file and folder, which are to stay as they are.
fn shop() -> Workshop {
    let shop = Workshop::with_wren();
    shop.write("home/authorized_keys", "the user's own\n");
    shop
}

fn remove(path: &Path) {
    let _ = if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) };
}

/// Runs commands that read on a garage in which `name` is a link to the user's file or folder: they answer, and touch nothing there.
#[track_caller]
fn reads_beside_a_link(name: &str, target: &str) {
    let mut shop = shop();
    let victim = shop.folder().join("home");
    let before = everything(&victim);
    let path = shop.garage().join(name);
    remove(&path);
    fs::create_dir_all(path.parent().expect("a file lies in a folder")).expect("the system does it");
    symlink(victim.join(target), &path).expect("the system does it");
    for line in ["entries wren", "settings wren", "vehicles", "entry wren 1", "audit wren"] {
        let ended = run(&mut shop, line);
        assert_eq!(ended.exit, 0, "{name}, {line}: {}{}", ended.out, ended.err);
        assert_eq!(everything(&victim), before, "{name}, {line}");
    }
}

/// Runs a command that writes where `name` is a link: it is refused by name, and nothing is touched.
#[track_caller]
fn refuses_a_link(name: &str, target: &str, line: &str) {
    let mut shop = shop();
    let victim = shop.folder().join("home");
    fs::create_dir_all(victim.join("folder")).expect("the system does it");
    let before = everything(&victim);
    let path = shop.garage().join(name);
    // What is in a folder goes along, so that the link leads to something that would do.
    if path.is_dir() && target == "folder" {
        remove(&victim.join("folder"));
        fs::rename(&path, victim.join("folder")).expect("the system does it");
    } else {
        remove(&path);
    }
    let before = if path.is_dir() || target == "folder" { everything(&victim) } else { before };
    symlink(victim.join(target), &path).expect("the system does it");
    let tip = shop.tip("wren");
    let ended = run(&mut shop, line);
    assert_ne!(ended.exit, 0, "{name}, {line}: {}", ended.out);
    assert!(ended.said().contains("symbolic link"), "{name}, {line}: {}", ended.err);
    assert!(
        ended.said().contains(name.rsplit('/').next().expect("a name has a last part")),
        "{name}, {line}: {}",
        ended.err
    );
    assert_eq!(everything(&victim), before, "{name}, {line}");
    if !name.contains("refs") {
        assert_eq!(shop.tip("wren"), tip, "{name}");
    }
}

#[test]
fn the_index_is_not_written_through_links() {
    reads_beside_a_link("index/wren", "authorized_keys");
    reads_beside_a_link("index/_vehicles", "authorized_keys");
    reads_beside_a_link("index/wren", "not_there_yet");
    reads_beside_a_link("index", ".");
}

#[test]
fn locks_are_not_taken_through_links() {
    refuses_a_link("locks/wren", "authorized_keys", "note wren 'a note'");
    refuses_a_link("locks/wren", "not_there_yet", "note wren 'a note'");
    refuses_a_link("locks/_tidy", "authorized_keys", "pack");
    refuses_a_link("locks", "folder", "note wren 'a note'");
}

#[test]
fn nothing_is_filed_through_links() {
    refuses_a_link("journals.git/refs/heads", "folder", "note wren 'a note'");
    refuses_a_link("journals.git/refs", "folder", "note wren 'a note'");
    refuses_a_link("journals.git/objects", "folder", "note wren 'a note'");
    refuses_a_link("journals.git/objects/pack", "folder", "pack");
    refuses_a_link("journals.git", "folder", "note wren 'a note'");
}

#[test]
fn a_folder_of_objects_that_is_a_link_is_not_written_into() {
    let mut shop = shop();
    let victim = shop.folder().join("home");
    let objects = shop.repository().join("objects");
    // Whatever the new objects' ids begin with, one of these is met: an entry has a handful of objects.
    for first in 0..=255u8 {
        let folder = objects.join(format!("{first:02x}"));
        let elsewhere = victim.join(format!("{first:02x}"));
        fs::rename(&folder, &elsewhere).expect("the system does it");
        symlink(&elsewhere, &folder).expect("the system does it");
    }
    let before = everything(&victim);
    let ended = run(&mut shop, "note wren 'a note'");
    assert_ne!(ended.exit, 0, "{}", ended.out);
    assert!(ended.said().contains("symbolic link"), "{}", ended.err);
    assert_eq!(everything(&victim), before);
}

#[test]
fn what_is_kept_by_name_does_not_leave_the_garage() {
    refuses_a_link("definitions", "folder", "definition keep ./body-1.toml");
}

#[test]
fn a_second_name_of_the_users_file_is_not_written_into() {
    let mut shop = shop();
    let victim = shop.folder().join("home");
    let before = everything(&victim);
    for name in ["index/wren", "locks/wren"] {
        let path = shop.garage().join(name);
        remove(&path);
        fs::hard_link(victim.join("authorized_keys"), &path).expect("the system does it");
    }
    let ended = run(&mut shop, "entries wren");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    assert_eq!(everything(&victim), before);
    let ended = run(&mut shop, "note wren 'a note'");
    assert_ne!(ended.exit, 0);
    assert!(ended.said().contains("more than one name"), "{}", ended.err);
    assert_eq!(everything(&victim), before);
}

#[test]
fn pipes_and_devices_are_not_waited_for() {
    for name in [
        "index/wren",
        "index/_vehicles",
        "locks/wren",
        "garage.toml",
        "allowed_signers",
        "definitions/a.toml",
        "columns/a.toml",
        "descriptions/a.csv",
        "journals.git/packed-refs",
        "journals.git/HEAD",
        "journals.git/config",
        "journals.git/refs/heads/wren",
        "journals.git/shallow",
        "journals.git/info/grafts",
        "journals.git/objects/info/alternates",
        "journals.git/objects/pack/pack-0.idx",
    ] {
        let mut shop = shop();
        let path = shop.garage().join(name);
        remove(&path);
        fs::create_dir_all(path.parent().expect("a file lies in a folder")).expect("the system does it");
        let made = Command::new("mkfifo").arg(&path).status().expect("the system makes pipes");
        assert!(made.success());
        for line in ["entries wren", "vehicles", "note wren 'a note'", "read wren ./as-found.toml", "audit wren"] {
            let ended = run(&mut shop, line);
            // An index is only a help; of all else it is said what is in the way.
            let is_said = !ended.err.is_empty() || ended.out.contains("no regular file");
            assert!(ended.exit == 0 || is_said, "{name}, {line}: {}", ended.out);
            if name.starts_with("index") && !line.starts_with("read") {
                assert_eq!(ended.exit, 0, "{name}, {line}: {}", ended.err);
            }
        }
    }
}

#[test]
fn links_that_users_make_themselves_go_on_leading_to_the_garage() {
    let mut shop = shop();
    symlink(shop.garage(), shop.folder().join("by-another-name")).expect("the system does it");
    let ended = run(&mut shop, "--garage ./by-another-name note wren 'a note'");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    assert_eq!(plain_git::line(&shop.repository(), "wren").len(), 3);
}
