//! Captures of diagnostics on IP (ISO 13400-2).

use asfound_tests::json::{Entries, Wire, Witness};
use asfound_tests::{IpLog, Workshop, hex_of, plain_git};
use insta::assert_snapshot;
use time::Duration;

use crate::{FIVE, FOUND, MORNING, shop_with_file};

/// The logical address of the body module: the one that its reading gives, and one that tells nothing.
const BODY: u16 = 0x000E;
const SOMEBODY: u16 = 0x1042;

/// The usual work, as on the bus.
fn five_flashes(module: u16) -> IpLog {
    let mut log = IpLog::at(MORNING);
    log.ask(module, "1003").answer(module, "5003003201F4");
    log.read(module, "0D01", FOUND);
    log.ask(module, "2701").answer(module, "670111223344").ask(module, "2702DEADBEEF").answer(module, "6702");
    log.wait(Duration::seconds(20));
    log.ask(module, &format!("2E0D01{FIVE}")).answer(module, "7F2E78").answer(module, "6E0D01");
    log.wait(Duration::seconds(1));
    log.read(module, "0D01", FIVE);
    log
}

#[test]
fn work_on_ip_is_witnessed() {
    let mut shop = shop_with_file("drive.pcap", five_flashes(BODY).bytes());
    assert_snapshot!(shop.run("file-log wren ./drive.pcap --why 'owner wants five' --keep-log").done(), @"
    $ asfound file-log wren ./drive.pcap --why 'owner wants five' --keep-log
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.pcap, 3287 bytes
    SHA-256         cac665e6c262dc4ea05c85336e8b50e43e545913b897a7f667bd33f239ba8b2b
    time            14 Mar 2026, 09:27:03.250 to 09:27:24.279
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
    modules         body at 000E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                                  ANSWER
    ──────────────────────────────────────────────────────────────────────
    09:27:03.254   body     extended session                      accepted
    09:27:03.262   body     security access asked for, level 01   accepted
    09:27:03.266   body     security access, key for level 01     accepted
    09:27:23.271   body     record 0D01 written                   accepted

    Written
    SETTING                    READ BEFORE   WRITTEN   READ AGAIN   BY
    ────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3             5         5            entry 4, new

    Filed as entries 3 to 6
      · 3 reading as found (partial): 1 module, 1 record
      · 4 change: body.lane_change_flashes 3 -> 5
      · 5 reading as left (partial): 1 module, 1 record
      · 6 witness: drive.pcap, 1 write
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 6").done(), @"
    $ asfound entry wren 6
    wren · entry 6 · witness · 14 March 2026, 09:27
    ════════════════════════════════════════════════════════════════════════════════
    why             from drive.pcap
    by              Edda Brandt
    filed           14 March 2026, 10:00
    log             drive.pcap, 3287 bytes
    SHA-256         cac665e6c262dc4ea05c85336e8b50e43e545913b897a7f667bd33f239ba8b2b
    its clock       14 Mar 2026, 09:27:03.250 to 14 Mar 2026, 09:27:24.279
    module          body asked at IP 0E80, answers at IP 000E
    made of it      entry 3, 4, 5

    Written
    TIME           RECORD      ANSWER     READ AGAIN   ACCOUNTED FOR BY
    ───────────────────────────────────────────────────────────────────
    09:27:23.271   body:0D01   accepted   as written   entry 4
    body record 0D01, 09:27:23.271
      read before   13 03 40 56
      written       15 03 40 58
      read again    15 03 40 58

    Done besides
      · 09:27:03.254 body: extended session, accepted
      · 09:27:03.262 body: security access asked for, level 01, accepted
      · 09:27:03.266 body: security access, key for level 01, accepted

    Attached
      · drive-conversations.jsonl, 3672 bytes, SHA-256
        4c28032ad9522e073f6e880f5fb14db28c4a0d9fdaa65d9a46db154a5318d26d

    commit          <commit>
    --- exit code 0
    ");
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[3].proof[0].level, "witnessed");
    assert_eq!(shop.run("audit").exit, 0);
    // What is kept are the lines of `wire show --json`, without seed and key.
    let kept = plain_git::file(&shop.repository(), "wren", "evidence/6/drive-conversations.jsonl");
    assert_eq!(kept.lines().count(), 13);
    assert!(kept.contains(r#""payload":"270200000000""#) && kept.contains(r#""payload":"670100000000""#), "{kept}");
    assert!(!kept.contains("DEADBEEF") && !kept.contains("11223344"));
}

#[test]
fn a_capture_on_a_page() {
    let mut shop = Workshop::new();
    shop.write("drive.pcap", five_flashes(BODY).bytes());
    assert_snapshot!(shop.run("wire show ./drive.pcap").done(), @"
    $ asfound wire show ./drive.pcap
    ./drive.pcap · pcap
    ════════════════════════════════════════════════════════════════════════════════
    time            2026-03-14 09:27:03.250 to 09:27:24.279 (+01:00), 21.028 s
    frames          0 frames
    diagnostics     13 messages, 0 did not get through

    written
      · 09:27:23.271 IP 000E record 0D01 by IP 0E80: byte 0 was 13, now 15; byte 3
        was 56, now 58; accepted, and read back the same

    modules
    MODULE    ASKED BY   PART NUMBER   EXCHANGES   RECORDS   REFUSED   SILENT
    ─────────────────────────────────────────────────────────────────────────
    IP 000E   IP 0E80    –                     6         1         0        0

    SERVICE                         EXCHANGES
    ─────────────────────────────────────────
    22 read data by identifier              2
    27 security access                      2
    10 diagnostic session control           1
    2E write data by identifier             1
    --- exit code 0
    ");
    let whole: Wire = shop.last_json_line("wire show ./drive.pcap");
    assert_eq!((whole.messages, whole.broken), (13, 0));
}

#[test]
fn a_module_on_ip_is_known_by_what_it_says_or_by_what_somebody_says() {
    let mut shop = shop_with_file("drive.pcap", five_flashes(SOMEBODY).bytes());
    assert_snapshot!(shop.refused("file-log wren ./drive.pcap --why five"), @"
    $ asfound file-log wren ./drive.pcap --why five
    --- standard error
    asfound: no module in the logs is known by name
      1042: 1 record, 1 write; perhaps body, whose records read the same
    hint: say which module it is: `--module body=1042`
    --- exit code 2
    ");
    let said: Witness = shop.json("file-log wren ./drive.pcap --why five --module body=1042 --preview");
    assert_eq!((said.modules[0].place.as_str(), said.modules[0].known.as_str()), ("1042", "as you say"));
    let mut log = five_flashes(SOMEBODY);
    log.read(SOMEBODY, "F187", &hex_of("7H0-951-204"));
    shop.write("with-part.pcap", log.bytes());
    let filed: Witness = shop.json("file-log wren ./with-part.pcap --why five");
    assert_eq!((filed.modules[0].place.as_str(), filed.modules[0].known.as_str()), ("1042", "by its part number"));
    assert_eq!((filed.writes.len(), filed.writes[0].entry), (1, Some(4)));
}
