//! What a log cannot tell is said.

use asfound_tests::json::{Entries, Entry, Witness};
use insta::assert_snapshot;

use crate::{BODY, FIVE, FOUND, MORNING, shop_with};
use asfound_tests::BusLog;

fn begun() -> BusLog {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND);
    log
}

#[test]
fn a_write_without_an_answer() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}"));
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("witness wren ./drive.log").done(), @"");
    let filed: Entry = shop.json("entry wren 4");
    assert_eq!(filed.witness.expect("it is a witness").writes[0].answer, "none");
}

#[test]
fn a_write_without_an_answer_that_was_read_back() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}")).read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("witness wren ./drive.log --why 'owner wants five'");
    assert_snapshot!(filed.cannot_tell.join("\n"), @"");
    // Without the module's own word it is read back, and not witnessed.
    let entries: Entries = shop.json("entries wren");
    assert_eq!((entries.entries[3].kind.as_str(), entries.entries[3].proof[0].level.as_str()), ("change", "read-back"));
}

#[test]
fn a_write_that_the_module_refuses() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}")).answer(BODY, "7F2E33").read(BODY, "0D01", FOUND);
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("witness wren ./drive.log").done(), @"");
}

#[test]
fn a_read_back_that_differs() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", "14034057");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("witness wren ./drive.log --why 'owner wants five'").done(), @"");
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[3].proof[0].level, "contradicted");
}

#[test]
fn a_write_that_is_not_read_back_is_stated() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("witness wren ./drive.log --why 'owner wants five'");
    assert_snapshot!(filed.cannot_tell.join("\n"), @"");
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[3].proof[0].level, "stated");
}

#[test]
fn a_log_that_starts_in_the_middle() {
    let mut log = BusLog::at(MORNING);
    log.answer(BODY, "6E0D01").read(BODY, "0D01", FIVE).read(BODY, "0D02", "001701");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("witness wren ./drive.log --another-hand").done(), @"");
}

#[test]
fn a_record_of_another_length_is_not_taken_over() {
    let mut log = begun();
    log.read(BODY, "0D02", "0017");
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("witness wren ./drive.log");
    assert_eq!(filed.not_taken_over, ["body record 0D02: 2 bytes, its definition says 3; it is not taken over"]);
}

#[test]
fn another_vehicle() {
    let mut log = begun();
    let vin: String = "ZZ9WRENA9T2000018".bytes().map(|byte| format!("{byte:02X}")).collect();
    log.read(BODY, "F190", &vin);
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.refused("witness wren ./drive.log"), @"");
}
