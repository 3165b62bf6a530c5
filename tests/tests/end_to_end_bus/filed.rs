//! What is filed of a log: as found, changes, as left, the witness.

use asfound_tests::json::{Entries, Entry, Witness};
use asfound_tests::plain_git;
use insta::assert_snapshot;

use crate::{BODY, FIVE, FOUND, MORNING, five_flashes, shop_with};
use asfound_tests::BusLog;
use time::Duration;

#[test]
fn work_on_the_bus_is_witnessed() {
    let mut shop = shop_with(&five_flashes());
    assert_snapshot!(shop.run("file-log wren ./drive.log --why 'owner wants five'").done(), @"
    $ asfound file-log wren ./drive.log --why 'owner wants five'
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
    body.lane_change_flashes   3             5         5            entry 4, new

    Filed as entries 3 to 6
      · 3 reading as found (partial): 1 module, 1 record
      · 4 change: body.lane_change_flashes 3 -> 5
      · 5 reading as left (partial): 1 module, 1 record
      · 6 witness: drive.log, 1 write
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren").done(), @"
    $ asfound entries wren
    wren · VIN ZZ9WRENA9T2000017 · grey estate
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                                PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        1   14 Mar 2026   enrolled: wren (journal started)    –
        2   14 Mar 2026   reading as found: 3 modules, 4      –
                          records (from as-found.toml)
        3   14 Mar 2026   reading as found (partial): 1       –
                          module, 1 record (from drive.log)
        4   14 Mar 2026   change: body.lane_change_flashes    witnessed, entry 6; on
                          3 -> 5 (owner wants five)           trial
        5   14 Mar 2026   reading as left (partial): 1        –
                          module, 1 record (from drive.log)
        6   14 Mar 2026   witness: drive.log, 1 write (from   –
                          drive.log)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 6").done(), @"
    $ asfound entry wren 6
    wren · entry 6 · witness · 14 March 2026, 09:27
    ════════════════════════════════════════════════════════════════════════════════
    why             from drive.log
    by              Edda Brandt
    filed           14 March 2026, 10:00
    log             drive.log, 1767 bytes
    SHA-256         e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    its clock       14 Mar 2026, 09:27:03.251 to 14 Mar 2026, 09:27:24.305
    module          body asked at 18DA0EF1, answers at 18DAF10E
    made of it      entry 3, 4, 5

    Written
    TIME           RECORD      ANSWER     READ AGAIN   ACCOUNTED FOR BY
    ───────────────────────────────────────────────────────────────────
    09:27:23.290   body:0D01   accepted   as written   entry 4
    body record 0D01, 09:27:23.290
      read before   13 03 40 56
      written       15 03 40 58
      read again    15 03 40 58

    Done besides
      · 09:27:03.269 body: extended session, accepted
      · 09:27:03.275 body: security access asked for, level 01, accepted
      · 09:27:03.278 body: security access, key for level 01, accepted

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren --module body").done(), @"
    $ asfound settings wren --module body
    wren · settings after entry 6 · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE     FACTORY   PROVEN
    ─────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5         3         entry 4, witnessed 6; on trial
    body.lock_at_speed         off       same      as read, entry 5
    body.lock_by_horn          off       same      as read, entry 5
    body.lock_speed            15 km/h   same      as read, entry 5
    body.relock_delay          short     same      as read, entry 2
    body.unlock_on_key_out     on        same      as read, entry 5

    6 settings.
    --- exit code 0
    ");
    let entry: Entry = shop.json("entry wren 4");
    assert_eq!(entry.alterations[0].proof.as_ref().map(|proof| proof.level.as_str()), Some("witnessed"));
    assert!(entry.alterations[0].on_the_wire.as_ref().is_some_and(|wire| wire.entry == 6 && wire.at.is_some()));
    let log: Entry = shop.json("entry wren 6");
    let witness = log.witness.expect("it is a witness");
    assert_eq!((witness.filed, witness.writes.len()), (vec![3, 4, 5], 1));
    assert_eq!(shop.run("audit").exit, 0);
}

#[test]
fn a_preview_files_nothing_and_says_what_is_missing() {
    let mut shop = shop_with(&five_flashes());
    let before = plain_git::tips(&shop.repository());
    assert_snapshot!(shop.run("file-log wren ./drive.log --preview").done(), @"
    $ asfound file-log wren ./drive.log --preview
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
    ──────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         5            nobody yet

    Nothing is filed yet.
    If it was your work: say the same without `--preview` and with --why TEXT.
    If it was not: say the same without `--preview` and with --another-hand.
    --- exit code 0
    ");
    let shown: Witness = shop.json("file-log wren ./drive.log --preview --why 'owner wants five'");
    assert!(!shown.filed && !shown.writes[0].unaccounted);
    assert_eq!(
        shown.entries.iter().map(|entry| entry.kind.as_str()).collect::<Vec<_>>(),
        ["reading", "change", "reading", "witness"]
    );
    assert_eq!(plain_git::tips(&shop.repository()), before);
}

#[test]
fn nobody_says_whose_it_was() {
    let mut shop = shop_with(&five_flashes());
    assert_snapshot!(shop.refused("file-log wren ./drive.log"), @"
    $ asfound file-log wren ./drive.log
    --- standard error
    asfound: the journal does not know of a write, and nobody says whose it was
      14 Mar 2026, 09:27:23.290: body.lane_change_flashes 3 -> 5
    hint: if it was your work, say why: `--why TEXT`; if not: `--another-hand`;
          `--preview` shows all of it
    --- exit code 3
    ");
}

#[test]
fn a_log_is_filed_once() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("file-log wren ./drive.log --why 'owner wants five'").done();
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why again"), @"
    $ asfound file-log wren ./drive.log --why again
    --- standard error
    asfound: drive.log is filed already, in entry 6: SHA-256
             e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    hint: `asfound entry wren 6` shows what it witnessed
    --- exit code 3
    ");
    // Under another name it is the same log still.
    shop.write("copy.log", shop.text("drive.log"));
    assert_snapshot!(shop.refused("file-log wren ./copy.log --another-hand"), @"
    $ asfound file-log wren ./copy.log --another-hand
    --- standard error
    asfound: copy.log is filed already, in entry 6: SHA-256
             e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    hint: `asfound entry wren 6` shows what it witnessed
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("file-log wren ./copy.log ./copy.log --why again"), @"
    $ asfound file-log wren ./copy.log ./copy.log --why again
    --- standard error
    asfound: copy.log is filed already, in entry 6: SHA-256
             e66297d27a2220d54ea1225f2acd77d215a56610091e54125649ecbf02a91446
    hint: `asfound entry wren 6` shows what it witnessed
    --- exit code 3
    ");
}

#[test]
fn the_conversations_are_kept_without_keys() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("file-log wren ./drive.log --why 'owner wants five' --keep-log").done();
    let kept = plain_git::file(&shop.repository(), "wren", "evidence/6/drive-conversations.log");
    assert_snapshot!(kept, @"
    (1773476823.269500) can0 18DA0EF1#021003AAAAAAAAAA
    (1773476823.271000) can0 18DAF10E#065003003201F4AA
    (1773476823.272500) can0 18DA0EF1#03220D01AAAAAAAA
    (1773476823.274000) can0 18DAF10E#07620D0113034056
    (1773476823.275500) can0 18DA0EF1#0227010000000000
    (1773476823.277000) can0 18DAF10E#0667010000000000
    (1773476823.278500) can0 18DA0EF1#0627020000000000
    (1773476823.280000) can0 18DAF10E#0267020000000000
    (1773476843.290500) can0 18DA0EF1#072E0D0115034058
    (1773476843.292000) can0 18DAF10E#037F2E78AAAAAAAA
    (1773476843.293500) can0 18DAF10E#036E0D01AAAAAAAA
    (1773476844.304000) can0 18DA0EF1#03220D01AAAAAAAA
    (1773476844.305500) can0 18DAF10E#07620D0115034058
    ");
    assert!(!kept.contains("DEADBEEF") && !kept.contains("11223344") && !kept.contains(" 120#"));
    // What is kept is a log by itself, and says the same.
    shop.write("kept.log", &kept);
    let again: asfound_tests::json::Wire = shop.last_json_line("wire show ./kept.log");
    let whole: asfound_tests::json::Wire = shop.last_json_line("wire show ./drive.log");
    assert_eq!((again.messages, again.modules), (whole.messages, whole.modules));
    // The log itself is nowhere in the journal.
    let log: Entry = shop.json("entry wren 6");
    assert_eq!(log.evidence.len(), 1);
}

#[test]
fn writing_a_record_again_begins_another_change() {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND).write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    log.wait(Duration::seconds(30));
    log.write(BODY, "0D01", "14034057").read(BODY, "0D01", "14034057");
    let mut shop = shop_with(&log);
    let _ = shop.run("file-log wren ./drive.log --why 'trying which is best'").done();
    let entries: Entries = shop.json("entries wren");
    let lines: Vec<_> = entries.entries[3..].iter().map(|entry| entry.headline.as_str()).collect();
    assert_snapshot!(lines.join("\n"), @"
    change: body.lane_change_flashes 3 -> 5
    change: body.lane_change_flashes 5 -> 4
    reading as left (partial): 1 module, 1 record
    witness: drive.log, 2 writes
    ");
    assert!(entries.entries[3..5].iter().all(|entry| entry.proof[0].level == "witnessed"));
}

#[test]
fn parts_of_a_log_belong_together() {
    let whole = five_flashes();
    let lines: Vec<&str> = whole.text().lines().collect();
    let (first, second) = lines.split_at(lines.len() - 12);
    let mut shop = shop_with(&whole);
    shop.write("b.log", first.join("\n"));
    shop.write("a.log", second.join("\n"));
    let filed: Witness = shop.json("file-log wren ./a.log ./b.log --why 'owner wants five'");
    assert_eq!(filed.logs.iter().map(|log| log.name.as_str()).collect::<Vec<_>>(), ["b.log", "a.log"]);
    assert_eq!((filed.writes.len(), filed.writes[0].entry), (1, Some(4)));
    assert_eq!(filed.writes[0].read_back.as_deref(), Some("15 03 40 58"));
}

#[test]
fn restricted_systems_are_acknowledged() {
    const BRAKES: asfound_tests::BusModule = asfound_tests::BusModule("18DA03F1", "18DAF103");
    let mut log = BusLog::at(MORNING);
    log.read(BRAKES, "0B10", "017C").write(BRAKES, "0B10", "007C").read(BRAKES, "0B10", "007C");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why 'rolls back on the ramp'"), @"
    $ asfound file-log wren ./drive.log --why 'rolls back on the ramp'
    --- standard error
    asfound: the work touches a restricted system (braking) and nobody has
             acknowledged it
    hint: this is for a qualified technician; local law and the maker's procedure
          come first. If you are one: --acknowledge braking --acknowledged-by NAME
          --grounds TEXT
    --- exit code 3
    ");
    let options = "--acknowledge braking --acknowledged-by 'J. Lind' --grounds 'order 7'";
    let _ = shop.run(&format!("file-log wren ./drive.log --why 'rolls back on the ramp' {options}")).done();
    let change: Entry = shop.json("entry wren 4");
    assert_eq!(change.acknowledgements.map(|list| list.len()), Some(1));
}
