//! Writes that the journal knows nothing of.

use asfound_tests::json::{Entry, Life, Witness};
use insta::assert_snapshot;
use time::macros::datetime;

use crate::{BODY, FIVE, FOUND, MORNING, five_flashes, shop_with};
use asfound_tests::BusLog;

#[test]
fn another_hand_is_seen_at_work() {
    let mut shop = shop_with(&five_flashes());
    assert_snapshot!(shop.run("file-log wren ./drive.log --another-hand").done(), @"
    $ asfound file-log wren ./drive.log --another-hand
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 1767 bytes
    SHA-256         e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    time            14 Mar 2026, 09:27:03.251 to 09:27:24.305
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
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
    ────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         5            another hand

    Filed as entries 3 to 5
      · 3 reading as found (partial): 1 module, 1 record
      · 4 reading as left (partial): 1 module, 1 record; another hand: 1 setting
      · 5 witness: drive.log, 1 write, 1 by another hand
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes").done(), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                       PROVEN
    ──────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known              –
        4   14 Mar 2026   3          5         another hand, settings   –
                                               altered, 14 Mar 2026,
                                               09:27:23.290 (entry 5)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 4").done(), @"
    $ asfound entry wren 4
    wren · entry 4 · reading · 14 March 2026, 09:27
    ════════════════════════════════════════════════════════════════════════════════
    why             from drive.log
    by              Edda Brandt
    filed           14 March 2026, 10:00
    role            as left
    covers          1 module, 1 record; partial
    odometer        –
    supply voltage  –
    taken with      –
    taken by        –

    SETTING                    AS FOUND   AS LEFT   PROVEN
    ────────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         another hand, settings altered,
                                                    14 Mar 2026, 09:27:23.290 (entry
                                                    5)

    commit          <commit>
    --- exit code 0
    ");
    let life: Life = shop.json("entries wren body.lane_change_flashes");
    let at = life.steps[1].on_the_wire.as_ref().and_then(|wire| wire.at.clone()).expect("the log shows it");
    assert_eq!(at, "2026-03-14T08:27:23.29Z");
}

#[test]
fn what_a_later_reading_found_altered_was_written_then() {
    let mut shop = shop_with(&five_flashes());
    shop.wait_until(datetime!(2026-03-20 08:00 +1));
    let _ = shop.run("read wren --value body.lane_change_flashes=5 --partial").done();
    // Its log surfaces afterwards.
    let filed: Witness = shop.json("file-log wren ./drive.log --another-hand");
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
    assert_snapshot!(shop.refused("file-log wren ./drive.log"), @"
    $ asfound file-log wren ./drive.log
    --- standard error
    asfound: the journal does not know of a write, and nobody says whose it was
      14 Mar 2026, 09:27:03.281: body.relock_delay short -> long
    hint: if it was your work, say why: `--why TEXT`; if not: `--another-hand`;
          `--preview` shows all of it
    --- exit code 3
    ");
    let filed: Witness = shop.json("file-log wren ./drive.log --another-hand");
    assert_eq!((filed.writes[0].entry, filed.writes[1].entry), (Some(3), None));
    assert!(filed.writes[1].shown_by.is_some());
}
