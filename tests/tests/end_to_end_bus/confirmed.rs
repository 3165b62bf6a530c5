//! Work that the journal has already is found again in the log.

use asfound_tests::json::{Entries, Life, Witness};
use asfound_tests::{BusLog, Workshop};
use insta::assert_snapshot;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use crate::{BODY, FIVE, FOUND, MORNING, five_flashes, shop_with};

fn level(shop: &mut Workshop, entry: usize) -> Vec<(String, Option<u32>)> {
    let entries: Entries = shop.json("entries wren");
    entries.entries[entry - 1].proof.iter().map(|proof| (proof.level.clone(), proof.reading)).collect()
}

#[test]
fn a_change_that_was_stated_is_witnessed() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    assert_eq!(level(&mut shop, 3), [("stated".to_owned(), None)]);
    assert_snapshot!(shop.run("file-log wren ./drive.log").done(), @"
    $ asfound file-log wren ./drive.log
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 1767 bytes
    SHA-256         e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    time            14 Mar 2026, 09:27:03.251 to 09:27:24.305
    clock           the journal's times are 32 min 36 s later than the log's (1
                    write)
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                                  ANSWER
    ──────────────────────────────────────────────────────────────────────
    09:27:03.269   body     extended session                      accepted
    09:27:03.275   body     security access asked for, level 01   accepted
    09:27:03.278   body     security access, key for level 01     accepted
    09:27:23.290   body     record 0D01 written                   accepted

    Written
    SETTING                    READ BEFORE   WRITTEN   READ AGAIN   BY
    ───────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         5            entry 3

    Filed as entries 4 to 5
      · 4 reading as left (partial): 1 module, 1 record
      · 5 witness: drive.log, 1 write
    --- exit code 0
    ");
    assert_eq!(level(&mut shop, 3), [("witnessed".to_owned(), Some(5))]);
    assert_eq!(shop.run("audit").exit, 0);
}

#[test]
fn a_setting_by_name_is_found_by_its_value() {
    // Nothing was read: the settings are known by value alone.
    let mut shop = Workshop::equipped();
    let _ = shop.run("enrol wren").done();
    let _ = shop.run("change wren body.lane_change_flashes=5 --was 3 --why 'by name'").done();
    shop.write("drive.log", five_flashes().text());
    let identity = "format = \"asfound-reading/1\"\n[modules.body]\naddress = \"0x0E\"\npart_number = \"7H0-951-204\"\n\
                    software = \"0210\"\n";
    shop.write("identity.toml", identity);
    let _ = shop.run("read wren ./identity.toml --partial").done();
    let filed: Witness = shop.json("file-log wren ./drive.log");
    assert_eq!(filed.writes[0].entry, Some(2));
    assert_eq!(level(&mut shop, 2)[0].0, "witnessed");
}

#[test]
fn a_log_that_comes_late_moves_nothing() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren body.lane_change_flashes=4 --why 'five are too many'").done();
    assert_snapshot!(shop.run("file-log wren ./drive.log").done(), @"
    $ asfound file-log wren ./drive.log
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 1767 bytes
    SHA-256         e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    time            14 Mar 2026, 09:27:03.251 to 09:27:24.305
    clock           the journal's times are 32 min 36 s later than the log's (1
                    write)
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                                  ANSWER
    ──────────────────────────────────────────────────────────────────────
    09:27:03.269   body     extended session                      accepted
    09:27:03.275   body     security access asked for, level 01   accepted
    09:27:03.278   body     security access, key for level 01     accepted
    09:27:23.290   body     record 0D01 written                   accepted

    Written
    SETTING                    READ BEFORE   WRITTEN   READ AGAIN   BY
    ───────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         5            entry 3

    Not taken over
      · body record 0D01: entry 4 tells of it later, so nothing is made of what the
        log says

    Filed as entry 5
      · 5 witness: drive.log, 1 write
    --- exit code 0
    ");
    assert_eq!(level(&mut shop, 3)[0].0, "witnessed");
    assert_eq!(level(&mut shop, 4)[0].0, "stated");
    let life: Life = shop.json("entries wren body.lane_change_flashes");
    assert_eq!(life.steps.last().map(|step| step.left.text.as_str()), Some("4"));
}

#[test]
fn what_is_read_later_contradicts_nothing_that_was_witnessed() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    shop.wait_until(datetime!(2026-03-20 08:00 +1));
    let _ = shop.run("read wren --value body.lane_change_flashes=3 --partial").done();
    assert_eq!(level(&mut shop, 3)[0].0, "contradicted");
    let _ = shop.run("file-log wren ./drive.log").done();
    assert_eq!(level(&mut shop, 3)[0].0, "witnessed");
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes").done(), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                  PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known         –
        3   14 Mar 2026   3          5         change, Edda        witnessed, entry
                                               Brandt (owner       5
                                               wants five)
        4   20 Mar 2026   5          3         another hand,       –
                                               settings altered
    --- exit code 0
    ");
}

/// The same work by a logger whose clock is wrong.
fn with_clock(at: OffsetDateTime) -> BusLog {
    let mut log = BusLog::at(at);
    log.read(BODY, "0D01", FOUND).wait(Duration::seconds(40));
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    log
}

#[test]
fn clocks_that_differ_are_found_and_stated() {
    let mut shop = shop_with(&with_clock(MORNING - Duration::hours(2)));
    let _ = shop.run("change wren body.lane_change_flashes=5 --why five --at '2026-03-14 09:28'").done();
    let filed: Witness = shop.json("file-log wren ./drive.log");
    // The write is 40.0315 s after the log's beginning: 27 frames of 1.5 ms and the time waited.
    assert_eq!(filed.writes[0].entry, Some(3));
    let later = filed.clock.journal_later_ms.expect("it is found");
    assert!((7_210_000..7_220_000).contains(&later), "two hours and some seconds: {later}");
    assert_eq!((filed.clock.put_later_ms, filed.clock.writes_found), (None, 1));
}

#[test]
fn a_clock_without_a_date_is_set_by_the_journal() {
    let mut shop = shop_with(&with_clock(datetime!(1970-01-01 00:10 +0)));
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why five"), @r#"
    $ asfound file-log wren ./drive.log --why five
    --- standard error
    asfound: the clock of the logs tells no date that can be right (1970-01-01
             0:10:00.001 +00:00:00)
    hint: say when the log began: `--began "2026-03-14 09:20"`
    --- exit code 2
    "#);
    let _ = shop.run("change wren body.lane_change_flashes=5 --why five --at '2026-03-14 09:28'").done();
    let filed: Witness = shop.json("file-log wren ./drive.log");
    assert_eq!((filed.writes[0].entry, filed.writes[0].at.as_deref()), (Some(3), Some("2026-03-14T09:28:00+01:00")));
}

#[test]
fn a_clock_without_a_date_is_set_by_hand() {
    let mut shop = shop_with(&with_clock(datetime!(1970-01-01 00:10 +0)));
    let filed: Witness = shop.json("file-log wren ./drive.log --why five --began '2026-03-14 09:28'");
    assert!(filed.writes[0].at.as_deref().is_some_and(|at| at.starts_with("2026-03-14T09:28:40.")));
    assert_eq!(filed.entries[1].happened, "2026-03-14T09:28:40+01:00");
}

#[test]
fn several_writes_that_one_entry_tells_of_are_its_own() {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND).write(BODY, "0D01", "14034057").read(BODY, "0D01", "14034057");
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'four, then five'").done();
    let filed: Witness = shop.json("file-log wren ./drive.log");
    assert_eq!(filed.writes.iter().map(|write| write.entry).collect::<Vec<_>>(), [Some(3), Some(3)]);
}

#[test]
fn entries_of_one_moment_get_the_writes_that_altered_what_they_tell_of() {
    // Each write carries what the ones before it altered in the same record.
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND);
    for left in [FIVE, "1D034060", "1D044061"] {
        log.write(BODY, "0D01", left).read(BODY, "0D01", left).wait(Duration::seconds(40));
    }
    let mut shop = shop_with(&log);
    for change in ["body.lane_change_flashes=5", "body.lock_by_horn=on", "body.lock_speed=20"] {
        let _ = shop.run(&format!("change wren {change} --why 'owner wants it' --at '2026-03-14 09:40'")).done();
    }
    let filed: Witness = shop.json("file-log wren ./drive.log");
    assert_eq!(filed.writes.iter().map(|write| write.entry).collect::<Vec<_>>(), [Some(3), Some(4), Some(5)]);
    for entry in 3..=5 {
        assert_eq!(level(&mut shop, entry)[0].0, "witnessed");
    }
}
