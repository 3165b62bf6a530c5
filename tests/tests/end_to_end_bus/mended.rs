//! Small holes in a log are mended and said.

use asfound_tests::json::{Entries, Entry, Witness};
use asfound_tests::{BusLog, BusModule, Workshop};
use insta::assert_snapshot;
use time::Duration;

use crate::{BODY, FIVE, FOUND, MORNING, five_flashes, shop_with};

/// A record of eighteen bytes that no definition names: its write takes three frames.
const LONG: &str = "0E50";
const BEFORE: &str = "000102030405060708090A0B0C0D0E0F1011";
const AFTER: &str = "0001020304050607FF090A0B0C0D0E0F1011";

fn long_write() -> BusLog {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, LONG, BEFORE).write(BODY, LONG, AFTER).read(BODY, LONG, AFTER);
    log
}

fn levels(shop: &mut Workshop) -> Vec<String> {
    let entries: Entries = shop.json("entries wren");
    entries.entries.iter().flat_map(|entry| &entry.proof).map(|proof| proof.level.clone()).collect()
}

fn witness(shop: &mut Workshop, logs: &str) -> Witness {
    let filed: Witness = shop.json(&format!("file-log wren {logs} --why 'owner wants it'"));
    let told = shop.run("entries wren").done();
    assert!(!told.out.contains("another hand") && !told.out.contains("contradict"), "{told}");
    assert_eq!(shop.run("audit").exit, 0);
    filed
}

#[test]
fn one_frame_of_a_write_is_missing() {
    // The request has frames 21 and 22 after its first; the read-back has the same numbers on the other identifier.
    for (frame, before, missing) in
        [("18DA0EF1#21", "00 01 02", 7), ("18DA0EF1#22", "00 01 02 03 04 05 06 07 FF 09", 7)]
    {
        let mut log = long_write();
        assert_eq!(log.lose(frame), 1, "the requests to read are single frames");
        let mut shop = shop_with(&log);
        let filed = witness(&mut shop, "./drive.log");
        let gap = filed.writes[0].gap.clone().expect("a part is missing");
        assert_eq!((gap.before.as_str(), gap.missing), (before, missing));
        assert_eq!((filed.writes[0].written.as_deref(), filed.writes[0].entry), (None, Some(4)));
        assert_eq!(levels(&mut shop), ["partly-witnessed"]);
    }
}

#[test]
fn what_was_mended_is_said() {
    let mut log = long_write();
    log.lose("18DA0EF1#21");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.run("file-log wren ./drive.log --why 'owner wants it'").done(), @"
    $ asfound file-log wren ./drive.log --why 'owner wants it'
    wren · bus log · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    log             drive.log, 1419 bytes
    SHA-256         fc9a56f7f95a94dfe9977ba5156188823243472c40c740ace7a7af903e94e10d
    time            14 Mar 2026, 09:27:03.251 to 09:27:03.295
    clock           the log's own; nothing in the journal is found again that it
                    could be held against
    modules         body at 18DA0EF1:18DAF10E, by its diagnostic address

    What was done
    TIME           MODULE   WHAT                  ANSWER
    ──────────────────────────────────────────────────────
    09:27:03.278   body     record 0E50 written   accepted

    Written
    SETTING     READ BEFORE            WRITTEN   READ AGAIN             BY
    ────────────────────────────────────────────────────────────────────────────────
    body:0E50   00 01 02 03 04 05 06   –         00 01 02 03 04 05 06   entry 4, new
                07 … (18 bytes)                  07 … (18 bytes)

    What the log does not tell
      · body record 0E50, written at 09:27:03.278: mended, since a part of the
        request is missing from the log, the read-back tells the bytes
      · body: 1 answer without its request: the log starts in the middle, or frames
        are missing
      · 1 message did not get through

    Filed as entries 3 to 6
      · 3 reading as found (partial): 1 module, 1 record
      · 4 change: body:0E50 byte 8 bits 0-2: 000 to 111, byte 8 bits 4-7: 0000 to
        1111
      · 5 reading as left (partial): 1 module, 1 record
      · 6 witness: drive.log, 1 write
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 4").done(), @"
    $ asfound entry wren 4
    wren · entry 4 · change · 14 March 2026, 09:27
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants it
    by              Edda Brandt
    filed           14 March 2026, 10:00

    SETTING              AS FOUND             AS LEFT              PROVEN
    ────────────────────────────────────────────────────────────────────────────────
    body:0E50 byte 8     00 01 02 03 04 05    00 01 02 03 04 05    witnessed in
    bits 0-2: 000 to     06 07 08 09 0A 0B    06 07 FF 09 0A 0B    part, entry 6: a
    111, byte 8 bits     0C 0D 0E 0F 10 11    0C 0D 0E 0F 10 11    part of the
    4-7: 0000 to 1111                                              request is
                                                                   missing from the
                                                                   log, the
                                                                   read-back tells
                                                                   the bytes

    Bytes
    body record 0E50
      as found      00 01 02 03 04 05 06 07 08 09 0A 0B 0C 0D 0E 0F 10 11
      as left       00 01 02 03 04 05 06 07 FF 09 0A 0B 0C 0D 0E 0F 10 11

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 6").done(), @"
    $ asfound entry wren 6
    wren · entry 6 · witness · 14 March 2026, 09:27
    ════════════════════════════════════════════════════════════════════════════════
    why             from drive.log
    by              Edda Brandt
    filed           14 March 2026, 10:00
    log             drive.log, 1419 bytes
    SHA-256         fc9a56f7f95a94dfe9977ba5156188823243472c40c740ace7a7af903e94e10d
    its clock       14 Mar 2026, 09:27:03.251 to 14 Mar 2026, 09:27:03.295
    module          body asked at 18DA0EF1, answers at 18DAF10E
    made of it      entry 3, 4, 5

    Written
    TIME           RECORD      ANSWER     READ AGAIN   ACCOUNTED FOR BY
    ───────────────────────────────────────────────────────────────────
    09:27:03.278   body:0E50   accepted   as written   entry 4
    body record 0E50, 09:27:03.278
      read before   00 01 02 03 04 05 06 07 08 09 0A 0B 0C 0D 0E 0F 10 11
      written       –
      read again    00 01 02 03 04 05 06 07 FF 09 0A 0B 0C 0D 0E 0F 10 11
      in the log    00 01 02 … (7 bytes missing) 0A 0B 0C 0D 0E 0F 10 11
      mended        a part of the request is missing from the log, the read-back
                    tells the bytes

    commit          <commit>
    --- exit code 0
    ");
}

#[test]
fn a_read_back_that_does_not_fit_the_rest_tells_nothing() {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, LONG, BEFORE).write(BODY, LONG, AFTER).read(BODY, LONG, "AA0102030405060708090A0B0C0D0E0F1011");
    log.lose("18DA0EF1#21");
    let mut shop = shop_with(&log);
    let told = shop.refused("file-log wren ./drive.log");
    assert!(told.err.contains("nobody says whose it was"), "{told}");
    let _ = shop.run("file-log wren ./drive.log --another-hand").done();
    assert!(levels(&mut shop).is_empty());
}

#[test]
fn a_write_goes_on_in_the_next_file() {
    let text = long_write().text().to_owned();
    let lines: Vec<&str> = text.lines().collect();
    let first = lines.iter().position(|line| line.contains("18DA0EF1#1")).expect("the request's first frame");
    // Cut after each of its frames, and between the response and the read-back.
    for (cut, level) in [(first + 1, "partly-witnessed"), (first + 3, "partly-witnessed"), (first + 5, "witnessed")] {
        let mut shop = shop_with(&long_write());
        shop.write("one.log", lines[..cut].join("\n"));
        shop.write("two.log", lines[cut..].join("\n"));
        let filed = witness(&mut shop, "./two.log ./one.log");
        assert_eq!(filed.logs.iter().map(|log| log.name.as_str()).collect::<Vec<_>>(), ["one.log", "two.log"]);
        assert_eq!((filed.writes.len(), filed.writes[0].answer.as_str()), (1, "accepted"), "cut at {cut}");
        assert_eq!(levels(&mut shop), [level], "cut at {cut}");
    }
}

#[test]
fn logs_that_overlap_have_each_frame_once() {
    let text = long_write().text().to_owned();
    let lines: Vec<&str> = text.lines().collect();
    let first = lines.iter().position(|line| line.contains("18DA0EF1#1")).expect("the request's first frame");
    let mut shop = shop_with(&long_write());
    shop.write("one.log", lines[..first + 5].join("\n"));
    shop.write("two.log", lines[first - 6..].join("\n"));
    let filed = witness(&mut shop, "./one.log ./two.log");
    assert_eq!((filed.writes.len(), filed.writes[0].entry), (1, Some(4)));
    assert_eq!(filed.cannot_tell.iter().filter(|line| !line.contains("mended")).count(), 0, "{:?}", filed.cannot_tell);
}

/// The log's lines with all times cut to milliseconds or left out.
fn with_times(log: &BusLog, time: impl Fn(usize, f64) -> String) -> String {
    let lines = log.text().lines().enumerate().map(|(number, line)| {
        let (at, rest) = line[1..].split_once(") ").expect("a time in brackets");
        format!("{}{rest}\n", time(number, at.parse().expect("seconds")))
    });
    lines.collect()
}

#[test]
fn everything_stands_twice() {
    let text: Vec<String> = long_write().text().lines().map(|line| format!("{line}\n{line}\n")).collect();
    let mut shop = shop_with(&long_write());
    shop.write("drive.log", text.concat());
    let filed = witness(&mut shop, "./drive.log");
    assert_eq!((filed.writes.len(), filed.writes[0].mended.clone()), (1, vec!["doubled".to_owned()]));
    assert_eq!(levels(&mut shop), ["partly-witnessed"]);
}

#[test]
fn frames_of_one_moment_in_an_impossible_order() {
    let text = with_times(&five_flashes(), |_, at| format!("({at:.3}000) "));
    // The module's answer to the write and the write itself bear one moment, and change places.
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let write = lines.iter().position(|line| line.contains("#072E0D01")).expect("the write");
    let pending = lines.remove(write + 1);
    assert!(pending.contains("7F2E78"));
    let moment = lines[write][..20].to_owned();
    lines[write + 1].replace_range(..20, &moment);
    lines.swap(write, write + 1);
    let mut shop = shop_with(&five_flashes());
    shop.write("drive.log", lines.join("\n"));
    let filed = witness(&mut shop, "./drive.log");
    assert_eq!((filed.writes.len(), filed.writes[0].mended.clone()), (1, vec!["out-of-order".to_owned()]));
    assert_eq!(levels(&mut shop), ["partly-witnessed"]);
}

#[test]
fn times_that_count_from_the_start_or_are_missing() {
    let starts = 1_773_476_823.0;
    for time in [&(|_: usize, at: f64| format!("({:.6}) ", at - starts)) as &dyn Fn(usize, f64) -> String, &|_, _| {
        String::new()
    }] {
        let mut shop = shop_with(&long_write());
        shop.write("drive.log", with_times(&long_write(), time));
        let told = shop.refused("file-log wren ./drive.log --why five");
        assert!(told.err.contains("--began"), "{told}");
        let filed = witness(&mut shop, "./drive.log --began '2026-03-14 09:27'");
        assert_eq!(filed.writes[0].entry, Some(4));
        assert_eq!(levels(&mut shop), ["witnessed"]);
    }
}

#[test]
fn files_whose_clocks_begin_anew_follow_each_other_as_given() {
    let starts = 1_773_476_823.0;
    let text = long_write().text().to_owned();
    let half = text.lines().count() / 2;
    let mut shop = shop_with(&long_write());
    let all: Vec<String> = with_times(&long_write(), |number, at| {
        format!("({:.6}) ", if number < half { at - starts } else { at - starts - 0.03 })
    })
    .lines()
    .map(str::to_owned)
    .collect();
    shop.write("b.log", all[..half].join("\n"));
    shop.write("a.log", all[half..].join("\n"));
    let filed = witness(&mut shop, "./b.log ./a.log --began '2026-03-14 09:27'");
    assert_eq!((filed.writes.len(), filed.writes[0].answer.as_str()), (1, "accepted"));
}

#[test]
fn the_request_is_missing_and_the_read_back_tells_the_bytes() {
    let mut log = five_flashes();
    assert_eq!(log.lose("#072E0D01"), 1);
    let mut shop = shop_with(&log);
    let told = shop.refused("file-log wren ./drive.log");
    assert!(told.err.contains("lane_change_flashes 3 -> 5"), "{told}");
    let filed = witness(&mut shop, "./drive.log");
    assert_eq!((filed.writes[0].mended.clone(), filed.writes[0].entry), (vec!["request-missing".to_owned()], Some(4)));
    let change: Entry = shop.json("entry wren 4");
    assert_eq!(change.alterations[0].proof.as_ref().map(|proof| proof.level.as_str()), Some("partly-witnessed"));
}

#[test]
fn interleaved_modules_lose_nothing() {
    const DOOR: BusModule = BusModule("18DA21F1", "18DAF121");
    let mut log = long_write();
    log.wait(Duration::seconds(1)).read(DOOR, "1234", "0102").read(BODY, "0D01", FOUND);
    log.write(BODY, "0D01", FIVE).read(DOOR, "1234", "0102").read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed = witness(&mut shop, "./drive.log");
    assert_eq!(filed.writes.iter().map(|write| write.entry).collect::<Vec<_>>(), [Some(4), Some(4)]);
}
