//! Writes that the journal knows nothing of.

use asfound_tests::json::{Entry, Life, Witness};
use insta::assert_snapshot;
use time::macros::datetime;

use crate::{BODY, FIVE, FOUND, MORNING, five_flashes, shop_with};
use asfound_tests::BusLog;

#[test]
fn another_hand_is_seen_at_work() {
    let mut shop = shop_with(&five_flashes());
    assert_snapshot!(shop.run("witness wren ./drive.log --another-hand").done(), @"");
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes").done(), @"");
    assert_snapshot!(shop.run("entry wren 4").done(), @"");
    let life: Life = shop.json("entries wren body.lane_change_flashes");
    let at = life.steps[1].on_the_wire.as_ref().and_then(|wire| wire.at.clone()).expect("the log shows it");
    assert_eq!(at, "2026-03-14T08:27:23.307Z");
}

#[test]
fn what_a_later_reading_found_altered_was_written_then() {
    let mut shop = shop_with(&five_flashes());
    shop.wait_until(datetime!(2026-03-20 08:00 +1));
    let _ = shop.run("read wren --value body.lane_change_flashes=5 --partial").done();
    // Its log surfaces afterwards.
    let filed: Witness = shop.json("witness wren ./drive.log --another-hand");
    assert_eq!(filed.writes[0].shown_by, Some(3));
    let reading: Entry = shop.json("entry wren 3");
    let found = reading.alterations.iter().find(|one| one.field == "body.lane_change_flashes").expect("it is altered");
    assert!(found.on_the_wire.is_some());
}

#[test]
fn one_write_is_known_and_another_is_not() {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND).write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    log.read(BODY, "0D02", "001701").write(BODY, "0D02", "001702").read(BODY, "0D02", "001702");
    let mut shop = shop_with(&log);
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    assert_snapshot!(shop.refused("witness wren ./drive.log"), @"");
    let filed: Witness = shop.json("witness wren ./drive.log --another-hand");
    assert_eq!((filed.writes[0].entry, filed.writes[1].entry), (Some(3), None));
    assert!(filed.writes[1].shown_by.is_some());
}
