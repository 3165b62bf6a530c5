//! What makes git read another history than was written. The journal is what was written, and somebody should look.

use std::fs;

use asfound_journal::garage::Garage;
use asfound_journal::store::Store;

use crate::place::{Place, git};
use crate::sheets::{audit_of, seal};
use crate::story::tag;

#[test]
fn a_replaced_object() {
    let place = Place::told();
    let whole = seal(&audit_of(place.garage.store(), "wren"));
    let (entry, other) = (place.id("wren~4:entry.toml"), place.id("wren~3:entry.toml"));
    git(&place.repository(), &["replace", &entry, &other]);
    // Git shows the other one.
    assert_eq!(
        git(&place.repository(), &["cat-file", "blob", &entry]),
        git(&place.repository(), &["--no-replace-objects", "cat-file", "blob", &other])
    );
    let says = "doubt: git shows another object in the place of ID (refs/replace/ID); this was read as it was written";
    assert_eq!(place.said(&entry), [says, "7 checked, sound until 7, lost from none"]);
    // Packed it is still there.
    git(&place.repository(), &["pack-refs", "--all"]);
    assert_eq!(place.said(&entry)[0], says);
    assert_eq!(seal(&audit_of(place.garage.store(), "wren")), whole);
}

#[test]
fn a_graft_and_a_shallow_mark() {
    let cases = [
        (
            "info/grafts",
            "",
            "git takes other parents for commit ID than it has (info/grafts); this was read as it was written",
        ),
        ("shallow", "", "git takes commit ID for the first one (shallow); this was read as it was written"),
    ];
    for (file, parents, says) in cases {
        let place = Place::told();
        let (id, line) = (place.id("wren~2"), place.garage.store().line(&tag("wren")).unwrap());
        fs::create_dir_all(place.repository().join("info")).unwrap();
        fs::write(place.repository().join(file), format!("{id}{parents}\n")).unwrap();
        assert_eq!(git(&place.repository(), &["rev-list", "wren"]).lines().count(), 3, "{file}: git is led astray");
        let garage = Garage::open(&place.path()).unwrap();
        assert_eq!(garage.store().line(&tag("wren")).unwrap(), line, "{file}");
        let found = place.said(&id);
        assert_eq!(found, [&format!("doubt: {says}"), "7 checked, sound until 7, lost from none"], "{file}");
    }
}
