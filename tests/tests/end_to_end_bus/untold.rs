//! What a log cannot tell is said.

use asfound_tests::json::{Entries, Entry, Witness};
use insta::assert_snapshot;

use crate::{BODY, FIVE, FOUND, MORNING, shop_with};
use asfound_tests::{BusLog, hex_of};

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
    assert_snapshot!(shop.run("file-log wren ./drive.log").done(), @"
    $ asfound file-log wren ./drive.log
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 705 bytes
    SHA-256         e525a88e9b57d159577367eb55bd81e8d743e7120e4cedd3479116da05412565
    time            14 Mar 2026, 09:27:03.251 to 09:27:03.272
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                  ANSWER
    ──────────────────────────────────────────────────────────────────
    09:27:03.272   body     record 0D01 written   no answer in the log

    Written
    SETTING                    READ BEFORE   WRITTEN   READ AGAIN   BY
    ──────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         –            –

    What the log does not tell
      · body record 0D01, written at 09:27:03.272: no answer and no read-back in the
        log; it may have been written or not. Read the module
      · body: 1 request without an answer in the log

    Filed as entries 3 to 4
      · 3 reading as found (partial): 1 module, 1 record
      · 4 witness: drive.log, 1 write
    --- exit code 0
    ");
    let filed: Entry = shop.json("entry wren 4");
    assert_eq!(filed.witness.expect("it is a witness").writes[0].answer, "none");
}

#[test]
fn a_write_without_an_answer_that_was_read_back() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}")).read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log --why 'owner wants five'");
    assert_snapshot!(filed.cannot_tell.join("\n"), @"
    body record 0D01, written at 09:27:03.272: no answer in the log, but it was read back as written
    body: 1 request without an answer in the log
    ");
    // Without the module's own word it is read back, and not witnessed.
    let entries: Entries = shop.json("entries wren");
    assert_eq!((entries.entries[3].kind.as_str(), entries.entries[3].proof[0].level.as_str()), ("change", "read-back"));
}

#[test]
fn a_write_that_the_module_refuses() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}")).answer(BODY, "7F2E33").read(BODY, "0D01", FOUND);
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("file-log wren ./drive.log").done(), @"
    $ asfound file-log wren ./drive.log
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 858 bytes
    SHA-256         a8f0905e66b99b2a2e046729a06d2e004e89b4b7b695d1de5073810b7df453ec
    time            14 Mar 2026, 09:27:03.251 to 09:27:03.277
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                  ANSWER
    ────────────────────────────────────────────────────────────────────────────────
    09:27:03.272   body     record 0D01 written   refused: 33 security access denied

    Written
    SETTING                    READ BEFORE   WRITTEN   READ AGAIN   BY
    ──────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         3            –

    Filed as entries 3 to 4
      · 3 reading check (partial): 1 module, 1 record
      · 4 witness: drive.log, 1 write
    --- exit code 0
    ");
}

#[test]
fn a_read_back_that_differs() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", "14034057");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("file-log wren ./drive.log --why 'owner wants five'").done(), @"
    $ asfound file-log wren ./drive.log --why 'owner wants five'
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 858 bytes
    SHA-256         bcad3da00338561451b30694949287f2d321e8eb499930d246029400fbac51a7
    time            14 Mar 2026, 09:27:03.251 to 09:27:03.277
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                  ANSWER
    ──────────────────────────────────────────────────────
    09:27:03.272   body     record 0D01 written   accepted

    Written
    SETTING                    READ BEFORE   WRITTEN   READ AGAIN   BY
    ────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         4            entry 4, new

    What the log does not tell
      · body record 0D01, written at 09:27:03.272: something else was read back

    Filed as entries 3 to 6
      · 3 reading as found (partial): 1 module, 1 record
      · 4 change: body.lane_change_flashes 3 -> 5
      · 5 reading as left (partial): 1 module, 1 record; contradicts 1 change
      · 6 witness: drive.log, 1 write
    --- exit code 0
    ");
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[3].proof[0].level, "contradicted");
}

#[test]
fn a_write_that_is_not_read_back_is_stated() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log --why 'owner wants five'");
    assert_snapshot!(filed.cannot_tell.join("\n"), @"body record 0D01, written at 09:27:03.272: accepted, and not read back. Read the module and file it");
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[3].proof[0].level, "stated");
}

#[test]
fn a_log_that_starts_in_the_middle() {
    let mut log = BusLog::at(MORNING);
    log.answer(BODY, "6E0D01").read(BODY, "0D01", FIVE).read(BODY, "0D02", "001701");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("file-log wren ./drive.log --another-hand").done(), @"
    $ asfound file-log wren ./drive.log --another-hand
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 807 bytes
    SHA-256         7fc3410137f756fcf96c2d6fce931a14ac1f7d4b13aa5eb2638ce29145ca8ae4
    time            14 Mar 2026, 09:27:03.251 to 09:27:03.275
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                  ANSWER
    ──────────────────────────────────────────────────────
    09:27:03.269   body     record 0D01 written   accepted

    Written
    SETTING     READ BEFORE   WRITTEN   READ AGAIN    BY
    ──────────────────────────────────────────────────────────────
    body:0D01   –             –         15 03 40 58   another hand

    What the log does not tell
      · body record 0D01, written at 09:27:03.269: mended, since the request is not
        in the log, the read-back tells the bytes
      · body: 1 answer without its request: the log starts in the middle, or frames
        are missing

    Filed as entries 3 to 4
      · 3 reading as left (partial): 1 module, 2 records; another hand: 1 setting
      · 4 witness: drive.log, 1 write, 1 by another hand
    --- exit code 0
    ");
}

#[test]
fn a_record_of_another_length_is_not_taken_over() {
    let mut log = begun();
    log.read(BODY, "0D02", "0017");
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log");
    assert_eq!(filed.not_taken_over, ["body record 0D02: 2 bytes, its definition says 3; it is not taken over"]);
}

#[test]
fn another_vehicle() {
    let mut log = begun();
    log.read(BODY, "F190", &hex_of("ZZ9WRENA9T2000018"));
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.refused("file-log wren ./drive.log"), @"
    $ asfound file-log wren ./drive.log
    --- standard error
    asfound: the vehicle in the logs says VIN ZZ9WRENA9T2000018, the journal is
             about ZZ9WRENA9T2000017
    hint: `asfound vehicles` lists the VIN of each
    --- exit code 2
    ");
}
