//! `find`: which vehicles have a setting, since when and by whom; and the index that it is answered from.

use std::fs;

use asfound_tests::Workshop;
use asfound_tests::json::{Entries, Found, Life, Origin, Standing, Vehicles};
use insta::assert_snapshot;

/// Three vehicles: one that was worked on and read, one that was told of by value, one of which nothing is known.
fn fleet() -> Workshop {
    let mut shop = Workshop::after_work();
    let _ = shop.run("enrol dunnock").done();
    let _ = shop.run("change dunnock body.lane_change_flashes=5 --was 3 --why 'like the other one'").done();
    let _ = shop.run("enrol plover").done();
    shop
}

#[test]
fn since_when_and_by_whom() {
    let mut shop = fleet();
    assert_snapshot!(shop.run("find body.lane_change_flashes=5"), @"
    $ asfound find body.lane_change_flashes=5
    body.lane_change_flashes = 5 · 2 of 3 vehicles
    ════════════════════════════════════════════════════════════════════════════════
    VEHICLE   HAS   SINCE         ENTRY   BY                     KNOWN
    ────────────────────────────────────────────────────────────────────────────────
    dunnock   5     14 Mar 2026       2   change, Edda Brandt    stated, entry 2
                                          (like the other one)
    wren      5     14 Mar 2026       3   change, Edda Brandt    entry 3, read back
                                          (owner wants five)     6
    --- exit code 0
    ");
    assert_snapshot!(shop.run("find body.lock_at_speed=on --software '02*'"), @"
    $ asfound find body.lock_at_speed=on --software '02*'
    body.lock_at_speed = on · software 02* · 1 of 3 vehicles
    ════════════════════════════════════════════════════════════════════════════════
    VEHICLE   HAS   SINCE         ENTRY   BY                     KNOWN
    ────────────────────────────────────────────────────────────────────────────────
    wren      on    14 Mar 2026       5   change, Edda Brandt    entry 5, read back
                                          (children in the       6
                                          back)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("find body.lane_change_flashes=4"), @"
    $ asfound find body.lane_change_flashes=4
    body.lane_change_flashes = 4 · 0 of 3 vehicles
    ════════════════════════════════════════════════════════════════════════════════
    No vehicle has it, as far as its journal knows.
    --- exit code 1
    ");
    let help = shop.run("find --help");
    assert!(help.out.contains("asfound find body.lane_change_flashes=5"), "{}", help.out);
}

#[test]
fn in_json() {
    let mut shop = fleet();
    let found: Found = shop.json("find body.lane_change_flashes");
    assert_eq!((found.searched, found.vehicles.len(), found.unreadable.len()), (3, 2, 0));
    let dunnock = &found.vehicles[0];
    assert_eq!((dunnock.vehicle.as_str(), dunnock.entry, dunnock.kind.as_str()), ("dunnock", 2, "change"));
    assert_eq!((dunnock.software.as_deref(), dunnock.has.text.as_str()), (None, "5"));
    assert_eq!((&dunnock.origin, dunnock.why.as_str()), (&Origin::Work, "like the other one"));
    let wren = &found.vehicles[1];
    assert_eq!((wren.vin.as_deref(), wren.software.as_deref()), (Some("ZZ9WRENA9T2000017"), Some("0210")));
    assert!(matches!(&wren.standing, Some(Standing::Altered { by: 3, proof }) if proof.level == "read-back"));

    let by_software: Found = shop.json("find body.lane_change_flashes --software 0210");
    assert_eq!(by_software.vehicles.iter().map(|one| one.vehicle.as_str()).collect::<Vec<_>>(), ["wren"]);
    let none = shop.run("find body.no_such_setting --json");
    assert_eq!(none.exit, 1);
    assert_eq!(shop.json_failure("find body.lane_change_flashes= ").exit, 2);
    assert_eq!(shop.json_failure("find flashes").exit, 2);
}

#[test]
fn a_journal_that_cannot_be_read_does_not_hide_the_others() {
    let mut shop = fleet();
    let tip = shop.tip("plover").unwrap();
    fs::remove_file(shop.repository().join("objects").join(&tip[..2]).join(&tip[2..])).unwrap();
    fs::remove_dir_all(shop.garage().join("index")).unwrap();
    let found = shop.run("find body.lane_change_flashes --json");
    assert_eq!(found.exit, 4);
    let found: Found = serde_json::from_str(&found.out).unwrap();
    assert_eq!((found.vehicles.len(), found.unreadable.len()), (2, 1));
    assert_eq!(found.unreadable[0].vehicle, "plover");
    assert!(shop.run("find body.lane_change_flashes").out.contains("plover: cannot be read: "));

    let listed = shop.run("vehicles --json");
    assert_eq!(listed.exit, 4);
    let listed: Vehicles = serde_json::from_str(&listed.out).unwrap();
    assert_eq!(listed.vehicles.iter().map(|line| line.tag.as_str()).collect::<Vec<_>>(), ["dunnock", "wren"]);
    assert_eq!(listed.unreadable.iter().map(|one| one.vehicle.as_str()).collect::<Vec<_>>(), ["plover"]);
    let shown = shop.run("vehicles");
    assert_eq!(shown.exit, 4);
    assert!(
        shown.out.contains("plover: cannot be read: ") && shown.out.contains("asfound audit plover"),
        "{}",
        shown.out
    );
}

#[test]
fn answers_do_not_depend_on_the_index() {
    let mut shop = fleet();
    let ask = |shop: &mut Workshop| {
        let life: Life = shop.json("entries wren body.lane_change_flashes");
        let entries: Entries = shop.json("entries wren");
        let vehicles: Vehicles = shop.json("vehicles");
        let found: Found = shop.json("find body.lane_change_flashes=5");
        (life, entries, vehicles, found)
    };
    let first = ask(&mut shop);
    assert!(shop.garage().join("index/_vehicles").is_file());
    assert_eq!(ask(&mut shop), first);
    for file in ["wren", "dunnock", "plover", "_vehicles"] {
        let path = shop.garage().join("index").join(file);
        let mut bytes = fs::read(&path).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        fs::write(&path, bytes).unwrap();
    }
    assert_eq!(ask(&mut shop), first);
    fs::remove_dir_all(shop.garage().join("index")).unwrap();
    fs::write(shop.garage().join("index"), "in the way of the folder").unwrap();
    assert_eq!(ask(&mut shop), first);
    let _ = shop.run("change wren body.lane_change_flashes=4 --why 'all the same'").done();
    fs::remove_file(shop.garage().join("index")).unwrap();
    let now = ask(&mut shop);
    assert_eq!((now.0.steps.len(), now.1.entries.len()), (first.0.steps.len() + 1, first.1.entries.len() + 1));
    // A vehicle is renamed by hand: its branch has another name now, and the old name is gone from the list.
    let vehicles: Vehicles = shop.json("vehicles");
    assert_eq!(vehicles.vehicles.len(), 3);
    fs::remove_file(shop.repository().join("refs/heads/plover")).unwrap();
    let vehicles: Vehicles = shop.json("vehicles");
    assert_eq!(vehicles.vehicles.len(), 2);
}

/// What `vehicles` remembers follows from the journal and from the definitions, and from nothing else.
#[test]
fn vehicles_are_looked_up_again_when_definitions_are_others() {
    let mut shop = fleet();
    let ask = |shop: &mut Workshop| -> Vec<(Option<usize>, Option<usize>)> {
        let all: Vehicles = shop.json("vehicles");
        all.vehicles.iter().map(|line| (line.open_orders, line.on_trial)).collect()
    };
    let _ = shop.run("order open plover 2026-17 --consent 'owner, by phone'").done();
    let first = ask(&mut shop);
    assert_eq!(first, [(Some(0), Some(1)), (Some(1), Some(0)), (Some(0), Some(3))]);
    let folder = shop.garage().join("definitions");
    let text = fs::read_to_string(folder.join("aviary-body-1.toml")).unwrap();
    // Two fit the module of wren now, so that its settings have no names: what is on trial there is one field of bits. Of the
    // others none was identified.
    fs::write(folder.join("another.toml"), text.replace("\"aviary-body-1\"", "\"another\"")).unwrap();
    assert_eq!(ask(&mut shop), [first[0], first[1], (Some(0), Some(1))]);
    fs::remove_file(folder.join("another.toml")).unwrap();
    assert_eq!(ask(&mut shop), first);
    let _ = shop.run("order close plover").done();
    assert_eq!(ask(&mut shop)[1], (Some(0), Some(0)));
}

/// A definition that only the journal has, in place of one in the garage that does not fit.
#[test]
fn definitions_that_only_the_journal_has_are_used() {
    let mut shop = fleet();
    let before: Life = shop.json("entries wren body.lane_change_flashes");
    fs::remove_dir_all(shop.garage().join("definitions")).unwrap();
    fs::create_dir(shop.garage().join("definitions")).unwrap();
    let after: Life = shop.json("entries wren body.lane_change_flashes");
    assert_eq!(after, before);
    let found: Found = shop.json("find body.lane_change_flashes=5");
    assert_eq!(found.vehicles.len(), 2);
}

/// Only the files that may be for the setting's module are read; TOML has several ways to write its name.
#[test]
fn a_definition_may_write_the_name_of_its_module_in_any_way() {
    let mut shop = fleet();
    let before: Life = shop.json("entries wren body.lane_change_flashes");
    let file = shop.garage().join("definitions/aviary-body-1.toml");
    let text = fs::read_to_string(&file).unwrap();
    for name in ["'body'", r#""b\u006fdy""#, "\"\"\"\nbody\"\"\"", "'''body'''"] {
        let other = text.replace("module = \"body\"", &format!("module = {name}"));
        assert_ne!(other, text);
        fs::write(&file, other).unwrap();
        let after: Life = shop.json("entries wren body.lane_change_flashes");
        assert_eq!(after, before, "{name}");
    }
    fs::write(&file, text.replace("[settings.", "[setings.")).unwrap();
    assert_eq!(shop.json_failure("entries wren body.lane_change_flashes").exit, 2);
}
