//! Objects that are damaged, gone, or changed for others.

use std::fs;
use std::path::Path;

use asfound_journal::garage::Garage;
use asfound_journal::store::Store;

use crate::place::{Place, git, overwrite};
use crate::sheets::audit_of;

/// The objects of entry 3 that are damaged in turn: the name for git, how a finding calls it, the file whose content it is.
const OBJECTS: [(&str, &str, &str); 5] = [
    ("wren~4", "commit ID", ""),
    ("wren~4^{tree}", "tree ID", ""),
    ("wren~4:modules", "tree ID", ""),
    ("wren~4:entry.toml", "blob ID", " (`entry.toml`)"),
    ("wren~4:evidence/3/paper.txt", "blob ID", " (`evidence/3/paper.txt`)"),
];

/// Damages each object of entry 3 in turn, and expects the finding that `says` words.
fn each(damage: impl Fn(&Place, &Path), says: impl Fn(&str, &str) -> String) {
    for (name, object, file) in OBJECTS {
        let place = Place::told();
        let id = place.id(name);
        damage(&place, &place.object_file(&id));
        let finding = format!("unreadable, entry 3: {}", says(object, file));
        let wanted = if object.starts_with("commit") {
            // Nothing before it can be reached without it.
            vec![
                finding,
                "unreadable, entry 4: the entries before it cannot be reached".to_owned(),
                "4 checked, sound until none, lost from 3".to_owned(),
            ]
        } else {
            vec![finding, "7 checked, sound until 2, lost from 3".to_owned()]
        };
        assert_eq!(place.said(&id), wanted, "{name}");
    }
}

const CUT: &str = "its file FILE is cut short or overwritten";

#[test]
fn a_flipped_byte() {
    let flip = |_: &Place, file: &Path| {
        let mut bytes = fs::read(file).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 0xFF;
        overwrite(file, &bytes);
    };
    each(flip, |object, file| format!("{object} is damaged{file}: {CUT}"));
}

#[test]
fn a_missing_object() {
    each(|_, file| fs::remove_file(file).unwrap(), |object, file| format!("{object} is missing{file}"));
}

#[test]
fn an_object_of_zero_length() {
    each(|_, file| overwrite(file, b""), |object, file| format!("{object} is damaged{file}: {CUT}"));
}

/// The content of a blob changed for another in the object database, under the id of the first. Git's ids are SHA-1; this is
/// how a second content for an id would look, but for the id.
#[test]
fn a_content_put_in_the_place_of_another() {
    let place = Place::told();
    let id = place.id("wren~4:entry.toml");
    let forged = place.path().join("forged.toml");
    let text =
        git(&place.repository(), &["cat-file", "blob", &id]).replace("the owner wants five", "the owner wants four");
    fs::write(&forged, text).unwrap();
    let other = git(&place.repository(), &["hash-object", "-w", forged.to_str().unwrap()]).trim().to_owned();
    let bytes = fs::read(place.object_file(&other)).unwrap();
    overwrite(&place.object_file(&id), &bytes);
    assert_eq!(
        place.said(&id),
        [
            &format!("unreadable, entry 3: blob ID is damaged (`entry.toml`): its content has the id {other}"),
            "7 checked, sound until 2, lost from 3",
        ]
    );
}

/// The state is followed no further once an entry could not be read; what does not need it is still checked.
#[test]
fn what_comes_after_an_entry_that_is_lost_is_checked_as_far_as_it_can_be() {
    let place = Place::told();
    let id = place.id("wren~4:entry.toml");
    fs::remove_file(place.object_file(&id)).unwrap();
    let evidence = place.id("wren~5:evidence/2/paper.txt");
    fs::remove_file(place.object_file(&evidence)).unwrap();
    let blind = place.id("wren:blind");
    fs::remove_file(place.object_file(&blind)).unwrap();
    assert_eq!(
        place.said(&id),
        [
            &format!("unreadable, entry 2: blob {evidence} is missing (`evidence/2/paper.txt`)"),
            "unreadable, entry 3: blob ID is missing (`entry.toml`)",
            &format!("unreadable, entry 7: blob {blind} is missing (`blind`)"),
            "7 checked, sound until 1, lost from 2",
        ]
    );
}

/// A file that many entries have is lost with all of them, and said once.
#[test]
fn an_object_of_many_entries() {
    let place = Place::told();
    let id = place.id("wren~6:vehicle.toml");
    fs::remove_file(place.object_file(&id)).unwrap();
    assert_eq!(
        place.said(&id),
        ["unreadable, entry 1: blob ID is missing (`vehicle.toml`)", "7 checked, sound until none, lost from 1"]
    );
}

#[test]
fn a_branch_that_leads_nowhere() {
    let place = Place::told();
    let file = place.repository().join("refs/heads/wren");
    let none = "0123456789abcdef0123456789abcdef01234567";
    fs::write(&file, format!("{none}\n")).unwrap();
    assert_eq!(
        place.said(none),
        ["unreadable: commit ID, the tip of `wren`, is missing", "0 checked, sound until none, lost from none"]
    );
    fs::write(&file, "nonsense").unwrap();
    assert_eq!(place.said(none).len(), 2);
}

/// A pack that was cut short is found before anything is read from it.
#[test]
fn a_pack_that_was_cut_short() {
    let place = Place::told();
    git(&place.repository(), &["gc", "--quiet"]);
    let packs = fs::read_dir(place.repository().join("objects/pack")).unwrap().map(|entry| entry.unwrap().path());
    let pack = packs.into_iter().find(|file| file.extension().is_some_and(|kind| kind == "pack")).unwrap();
    let sound = fs::read(&pack).unwrap();
    overwrite(&pack, &sound[..sound.len() / 2]);
    let index = pack.with_extension("idx");
    let damaged =
        format!("the pack index {} is damaged: it says that an object lies outside the pack", index.display());
    let garage = Garage::open(&place.path()).unwrap();
    let (store, wren) = (garage.store(), "wren".parse().unwrap());
    assert_eq!(store.tip(&wren).unwrap_err().to_string(), damaged);
    assert_eq!(store.reader().err().unwrap().to_string(), damaged);
    drop(garage);
    // A byte flipped in it is found in the object that it is of.
    let mut flipped = sound.clone();
    flipped[sound.len() / 2] ^= 0xFF;
    overwrite(&pack, &flipped);
    // Handles that are open keep what they have read: one at a time.
    let path = place.path();
    let _kept = place.closed();
    let is_sound = || audit_of(Garage::open(&path).unwrap().store(), "wren").is_sound();
    assert!(!is_sound());
    overwrite(&pack, &sound);
    assert!(is_sound());
}
