//! An index that somebody forged, checksums and all: no wrong byte on a sheet, nothing wrong filed, and it is said once.

use std::path::PathBuf;

use asfound_tests::{ForgedIndex, Workshop};

const SAID: &str = "the index of `wren` did not agree with the journal; it was thrown away and is made anew";

/// Record 0D01 with so many flashes, as the index has it: its length and its bytes. The last is a checksum.
fn record(flashes: u8, checksum: u8) -> [u8; 5] {
    [4, 0x10 | flashes, 0x03, 0x40, checksum]
}

/// `wren` with flashes 3 -> 5 in entry 3.
fn changed() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    shop
}

fn index(shop: &Workshop) -> PathBuf {
    shop.garage().join("index/wren")
}

/// The bytes of the record before and after entry 3, as the journal has them.
fn contents(shop: &mut Workshop) -> [[u8; 5]; 2] {
    let text = shop.run("entry wren 3").done().out;
    let byte = |line: &str| {
        let line = text.lines().find(|text| text.trim_start().starts_with(line)).unwrap();
        u8::from_str_radix(line.trim_end().rsplit(' ').next().unwrap(), 16).unwrap()
    };
    [record(3, byte("as found")), record(5, byte("as left"))]
}

/// It lies of what was there before entry 3, and not of what is there now.
fn forge_the_past(shop: &mut Workshop) {
    let [found, _] = contents(shop);
    let lie = record(2, 0);
    ForgedIndex::open(&index(shop)).replace(2, &found, &lie).replace(3, &found, &lie).save(&index(shop));
}

/// It lies of what is there now.
fn forge_the_present(shop: &mut Workshop) {
    let [_, left] = contents(shop);
    ForgedIndex::open(&index(shop)).replace(3, &left, &record(4, 0)).save(&index(shop));
}

/// What a command says on a forged index is what it says on an honest one, and on standard error it is said once. Seals differ
/// from garage to garage, and with them what they stand on.
fn undeceived(forge: fn(&mut Workshop), command: &str) -> String {
    let mut shop = changed();
    forge(&mut shop);
    let ran = shop.run(command);
    assert_eq!((ran.exit, ran.err.trim_end()), (0, SAID), "{command}: {}", ran.out);
    let audited = shop.run("audit wren").done();
    assert!(!audited.out.contains("doubt") && !audited.out.contains("tampering"), "{}", audited.out);
    ran.out
}

#[test]
fn bytes_to_write_are_the_journals() {
    for command in [
        "put-back wren 3",
        "return-to wren 2",
        "put-back wren 3 --done --sheet CODE --why 'as it was'",
        "return-to wren 2 --done --sheet CODE --why 'as it was'",
        "change wren body.lane_change_flashes=1 --why 'one will do'",
    ] {
        let mut honest = changed();
        let _ = contents(&mut honest);
        // The code of the sheet that an honest index shows.
        let command = &honest.with_code(command);
        let wanted = honest.run(command).done().out;
        assert!(wanted.contains("15 03 40 58"), "{wanted}");
        assert_eq!(undeceived(forge_the_present, command), wanted, "{command}");
        // A change alone takes nothing from what was before.
        if !command.starts_with("change") {
            assert!(wanted.contains("13 03 40 56"), "{wanted}");
            assert_eq!(undeceived(forge_the_past, command), wanted, "{command}");
        }
    }
}

#[test]
fn a_saved_plan_is_the_journals() {
    let mut shop = changed();
    let _ = shop.run("put-back wren 3 --save ./back.toml").done();
    let wanted = shop.run("plan show ./back.toml").done().out;
    for forge in [forge_the_past, forge_the_present] {
        forge(&mut shop);
        let ran = shop.run("plan show ./back.toml");
        assert_eq!((ran.out, ran.err.trim_end()), (wanted.clone(), SAID));
    }
}

#[test]
fn what_is_handed_over_is_the_journals() {
    let sheet = undeceived(forge_the_past, "handover wren");
    assert!(sheet.contains("Lane-change flashes        3          5 "), "{sheet}");
    let mut shop = changed();
    let wanted = shop.run("seal wren").done().out;
    forge_the_past(&mut shop);
    let ran = shop.run("seal wren");
    assert_eq!((ran.out, ran.err.trim_end()), (wanted, SAID));
}

#[test]
fn an_audit_says_so_and_calls_no_journal_damaged() {
    let mut shop = changed();
    forge_the_past(&mut shop);
    let ran = shop.run("audit wren").done();
    assert!(ran.out.contains("2   doubt"), "{}", ran.out);
    assert!(ran.out.contains("the index says something else of it than the journal does"), "{}", ran.out);
    assert_eq!(ran.err, "");
    assert!(!shop.run("audit wren").done().out.contains("doubt"));
}
