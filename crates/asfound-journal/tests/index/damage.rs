//! What may become of the index of one vehicle.

use std::fs;

use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::Store;

use crate::story::{change, file, tag, tell, tell_until};
use crate::support::{Place, entries};

/// A garage with the whole story of `wren`, and its index.
fn told() -> Place {
    let place = Place::new();
    tell(place.garage.store(), &tag("wren"));
    place.assert_same("wren");
    place
}

#[test]
fn it_is_made_when_it_is_missing_and_goes_on_with_each_entry() {
    let place = Place::new();
    tell_until(place.garage.store(), &tag("wren"), 3, "the owner wants five");
    place.assert_same("wren");
    let before = place.index_length("wren").unwrap();
    file(place.garage.store(), &tag("wren"), 4, "one more", &change("05 10", "04 10"), &[]);
    let after = place.index_length("wren").unwrap();
    assert!(after > before, "filing extends it");
    place.assert_same("wren");
    assert_eq!(place.index_length("wren"), Some(after), "and reading then finds nothing to add");

    let whole = fs::read(place.index_file("wren")).unwrap();
    fs::remove_dir_all(place.path().join("index")).unwrap();
    place.assert_same("wren");
    assert!(fs::read(place.index_file("wren")).unwrap() == whole, "made anew it is the same");
}

#[test]
fn cut_short_at_any_byte_it_is_completed() {
    let place = told();
    let whole = fs::read(place.index_file("wren")).unwrap();
    let wanted = entries(&place.plain(), &tag("wren"));
    for length in 0..whole.len() {
        fs::write(place.index_file("wren"), &whole[..length]).unwrap();
        assert_eq!(entries(place.garage.store(), &tag("wren")), wanted, "cut at {length}");
        assert!(fs::read(place.index_file("wren")).unwrap() == whole, "cut at {length}");
    }
    place.assert_same("wren");
}

#[test]
fn altered_at_any_byte_it_is_not_believed() {
    let place = told();
    let whole = fs::read(place.index_file("wren")).unwrap();
    let wanted = entries(&place.plain(), &tag("wren"));
    for at in 0..whole.len() {
        let mut other = whole.clone();
        other[at] ^= 1 << (at % 8);
        fs::write(place.index_file("wren"), &other).unwrap();
        assert_eq!(entries(place.garage.store(), &tag("wren")), wanted, "byte {at}");
        assert!(fs::read(place.index_file("wren")).unwrap() == whole, "byte {at}");
    }
    // More than there should be: some rubbish, and the last bytes once more.
    for rubbish in [b"rubbish that is longer than the head of a frame".as_slice(), &whole[whole.len() - 40..]] {
        fs::write(place.index_file("wren"), [&whole, rubbish].concat()).unwrap();
        place.assert_same("wren");
        assert!(fs::read(place.index_file("wren")).unwrap() == whole);
    }
}

#[test]
fn of_another_version_or_another_vehicle_it_is_made_anew() {
    let place = told();
    let whole = fs::read(place.index_file("wren")).unwrap();
    let head = whole.iter().position(|byte| *byte == b'\n').unwrap();
    let version = std::str::from_utf8(&whole[..head]).unwrap().strip_suffix(" wren").unwrap();
    assert!(version.starts_with("asfound-index/"));
    for other in ["asfound-index/1 wren", "asfound-index/999 wren", &format!("{version} rook"), ""] {
        fs::write(place.index_file("wren"), [other.as_bytes(), &whole[head..]].concat()).unwrap();
        place.assert_same("wren");
        assert!(fs::read(place.index_file("wren")).unwrap() == whole, "{other}");
    }

    tell_until(place.garage.store(), &tag("rook"), 5, "the owner wants two");
    place.assert_same("rook");
    let rook = fs::read(place.index_file("rook")).unwrap();
    fs::write(place.index_file("wren"), &rook).unwrap();
    place.assert_same("wren");
    // With the right head, and all the same the entries of another vehicle.
    let rook_head = rook.iter().position(|byte| *byte == b'\n').unwrap();
    fs::write(place.index_file("wren"), [&whole[..head], &rook[rook_head..]].concat()).unwrap();
    place.assert_same("wren");
    assert!(fs::read(place.index_file("wren")).unwrap() == whole);
}

#[test]
fn a_journal_that_somebody_moved_back_or_aside_is_followed() {
    let place = told();
    let line: Vec<String> =
        place.garage.store().line(&tag("wren")).unwrap().iter().map(|id| id.as_str().to_owned()).collect();
    for to in [6, 2, 0, 4, 6] {
        place.set_branch("wren", &line[to]);
        place.assert_same("wren");
        assert_eq!(entries(place.garage.store(), &tag("wren")).len(), to + 1);
    }
    // From entry 3 on another way.
    place.set_branch("wren", &line[2]);
    file(place.garage.store(), &tag("wren"), 9, "otherwise", &change("05 10", "02 10"), &[]);
    place.assert_same("wren");
    place.set_branch("wren", &line[6]);
    place.assert_same("wren");
    // The journal of another vehicle under this name.
    tell_until(place.garage.store(), &tag("rook"), 4, "the owner wants two");
    let rook = place.garage.store().tip(&tag("rook")).unwrap().unwrap();
    place.set_branch("wren", rook.as_str());
    assert_eq!(entries(place.garage.store(), &tag("wren")), entries(&place.plain(), &tag("rook")));
}

#[test]
fn where_it_cannot_be_written_nothing_fails() {
    let place = told();
    let whole = fs::read(place.index_file("wren")).unwrap();
    // A file in place of the folder, and a folder in place of the file, are in nobody's power to write.
    fs::remove_dir_all(place.path().join("index")).unwrap();
    fs::write(place.path().join("index"), b"in the way").unwrap();
    place.assert_same("wren");
    file(place.garage.store(), &tag("wren"), 9, "all the same", &change("03 10", "02 10"), &[]);
    place.assert_same("wren");
    fs::remove_file(place.path().join("index")).unwrap();
    fs::create_dir_all(place.index_file("wren")).unwrap();
    place.assert_same("wren");
    file(place.garage.store(), &tag("wren"), 10, "and again", &change("02 10", "01 10"), &[]);
    place.assert_same("wren");
    fs::remove_dir(place.index_file("wren")).unwrap();
    // One that is locked, and behind.
    fs::write(place.index_file("wren"), &whole).unwrap();
    let held = fs::File::open(place.index_file("wren")).unwrap();
    held.lock().unwrap();
    place.assert_same("wren");
    assert!(fs::read(place.index_file("wren")).unwrap() == whole);
    drop(held);
    place.assert_same("wren");
    assert!(place.index_length("wren").unwrap() > whole.len() as u64);
}

#[test]
fn the_audit_does_not_look_at_it() {
    let place = told();
    let sound = |place: &Place| {
        let threads = std::num::NonZero::<usize>::MIN;
        let allowed = AllowedSigners::default();
        audit(place.garage.store(), &tag("wren"), AuditOptions { allowed: &allowed, threads }, &mut |_| {})
            .unwrap()
            .is_sound()
    };
    assert!(sound(&place));
    // The index still tells of an entry whose file is gone from the journal; the audit does not take its word.
    let line = place.garage.store().line(&tag("wren")).unwrap();
    let commit = place.garage.store().commit(&line[3]).unwrap();
    let blob = commit.files["entry.toml"].as_str();
    fs::remove_file(place.path().join("journals.git/objects").join(&blob[..2]).join(&blob[2..])).unwrap();
    assert_eq!(entries(place.garage.store(), &tag("wren")).len(), 7);
    assert!(!sound(&place));
}
