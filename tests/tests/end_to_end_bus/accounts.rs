//! Whose a write was: writes that repeat others, that take others back, that another tester made.

use asfound_tests::json::{Entries, Witness};
use asfound_tests::{BusLog, BusModule, Workshop};
use insta::assert_snapshot;
use time::Duration;

use crate::{BODY, FIVE, FOUND, MORNING, shop_with};

/// The body module, asked by another tester: source address F2 in place of F1 (ISO 15765-2, normal fixed addressing).
const BODY_BY_F2: BusModule = BusModule("18DA0EF2", "18DAF20E");

fn headlines(shop: &mut Workshop) -> String {
    let entries: Entries = shop.json("entries wren");
    let lines = entries.entries.iter().skip(2).map(|entry| {
        let proof: Vec<&str> = entry.proof.iter().map(|proof| proof.level.as_str()).collect();
        format!("{} {} [{}]", entry.number, entry.headline, proof.join(" "))
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Nothing in the journal says that somebody else was there, or that work was not as it was said to be.
fn accuses_nobody(shop: &mut Workshop) {
    let told = shop.run("entries wren").done();
    for word in ["another hand", "contradict"] {
        assert!(!told.out.contains(word), "{told}");
    }
    assert_eq!(shop.run("audit").exit, 0);
}

fn begun() -> BusLog {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND);
    log
}

#[test]
fn the_same_bytes_are_written_again() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).wait(Duration::seconds(5)).write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log --why 'owner wants five'");
    assert_eq!(filed.writes.iter().map(|write| write.entry).collect::<Vec<_>>(), [Some(4), Some(4)]);
    assert_snapshot!(headlines(&mut shop), @"
    3 reading as found (partial): 1 module, 1 record []
    4 change: body.lane_change_flashes 3 -> 5 [witnessed]
    5 reading as left (partial): 1 module, 1 record []
    6 witness: drive.log, 2 writes []
    ");
    accuses_nobody(&mut shop);
}

#[test]
fn what_the_journal_has_is_written_twice() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).wait(Duration::seconds(5)).write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    // Nothing has to be asked.
    let filed: Witness = shop.json("file-log wren ./drive.log");
    assert_eq!(filed.writes.iter().map(|write| write.entry).collect::<Vec<_>>(), [Some(3), Some(3)]);
    accuses_nobody(&mut shop);
}

#[test]
fn there_and_back_unread() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).wait(Duration::seconds(5)).write(BODY, "0D01", FOUND).read(BODY, "0D01", FOUND);
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.refused("file-log wren ./drive.log"), @"
    $ asfound file-log wren ./drive.log
    --- standard error
    asfound: the journal does not know of 2 writes, and nobody says whose they were
      14 Mar 2026, 09:27:03.272: body.lane_change_flashes 3 -> 5
      14 Mar 2026, 09:27:08.284: body.lane_change_flashes 5 -> 3
    hint: if it was your work, say why: `--why TEXT`; if not: `--another-hand`;
          `--preview` shows all of it
    --- exit code 3
    ");
    let _ = shop.run("file-log wren ./drive.log --why 'tried five'").done();
    assert_snapshot!(headlines(&mut shop), @"
    3 reading as found (partial): 1 module, 1 record []
    4 change: body.lane_change_flashes 3 -> 5 [stated]
    5 change: body.lane_change_flashes 5 -> 3 [witnessed]
    6 reading as left (partial): 1 module, 1 record []
    7 witness: drive.log, 2 writes []
    ");
    accuses_nobody(&mut shop);
}

#[test]
fn a_second_try_after_no_answer() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}")).wait(Duration::seconds(2));
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let filed: Witness = shop.json("file-log wren ./drive.log");
    // Of the first try the log does not tell whether anything came of it.
    assert_eq!((filed.writes[0].answer.as_str(), filed.writes[1].entry), ("none", Some(3)));
    assert_snapshot!(headlines(&mut shop), @"
    3 change: body.lane_change_flashes 3 -> 5 [witnessed]
    4 reading as left (partial): 1 module, 1 record []
    5 witness: drive.log, 2 writes []
    ");
}

#[test]
fn refused_then_accepted() {
    let mut log = begun();
    log.ask(BODY, &format!("2E0D01{FIVE}")).answer(BODY, "7F2E33").ask(BODY, "2701").answer(BODY, "670111223344");
    log.ask(BODY, "2702DEADBEEF").answer(BODY, "6702");
    log.ask(BODY, &format!("2E0D01{FIVE}")).answer(BODY, "7F2E78").answer(BODY, "7F2E78").answer(BODY, "6E0D01");
    log.read(BODY, "0D01", FIVE);
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log --why 'owner wants five'");
    assert_eq!(filed.writes.iter().map(|write| write.answer.as_str()).collect::<Vec<_>>(), ["refused", "accepted"]);
    assert_eq!(filed.writes[1].entry, Some(4));
    accuses_nobody(&mut shop);
}

#[test]
fn a_first_write_of_a_record_that_nobody_read() {
    let mut log = BusLog::at(MORNING);
    log.write(BODY, "0E44", "112233445566778899");
    let mut shop = shop_with(&log);
    let _ = shop.run("file-log wren ./drive.log --why 'new record'").done();
    assert_snapshot!(headlines(&mut shop), @"
    3 change: body:0E44 written as 11 22 33 44 55 66 77 88 …, as found not known []
    4 witness: drive.log, 1 write []
    ");
}

/// The author's tester writes flashes, another one the relock delay of another record.
fn two_testers() -> BusLog {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE).wait(Duration::seconds(5));
    log.read(BODY_BY_F2, "0D02", "001701").write(BODY_BY_F2, "0D02", "001702").read(BODY_BY_F2, "0D02", "001702");
    log
}

#[test]
fn another_tester_is_named_and_kept_apart() {
    let mut shop = shop_with(&two_testers());
    assert_snapshot!(shop.refused("file-log wren ./drive.log"), @"
    $ asfound file-log wren ./drive.log
    --- standard error
    asfound: the journal does not know of 2 writes, and nobody says whose they were
      by the tester at 18DA0EF1
        14 Mar 2026, 09:27:03.272: body.lane_change_flashes 3 -> 5
      by the tester at 18DA0EF2
        14 Mar 2026, 09:27:08.290: body.relock_delay short -> long
    hint: if one of them was yours, say which and why: `--tester 18DA0EF1 --why
          TEXT`; if none was: `--another-hand`; `--preview` shows all of it
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why five"), @"
    $ asfound file-log wren ./drive.log --why five
    --- standard error
    asfound: the journal does not know of 2 writes, and nobody says whose they were
      by the tester at 18DA0EF1
        14 Mar 2026, 09:27:03.272: body.lane_change_flashes 3 -> 5
      by the tester at 18DA0EF2
        14 Mar 2026, 09:27:08.290: body.relock_delay short -> long
    hint: `--why` holds for one tester: say which was yours, `--tester 18DA0EF1` for
          instance; if another was not, add `--another-hand`
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why five --tester 18DA0EF1"), @"
    $ asfound file-log wren ./drive.log --why five --tester 18DA0EF1
    --- standard error
    asfound: the journal does not know of a write, and nobody says whose it was
      by the tester at 18DA0EF2
        14 Mar 2026, 09:27:08.290: body.relock_delay short -> long
    hint: if that was yours too, add `--tester 18DA0EF2`; if not, add
          `--another-hand`
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why five --tester 7E0"), @"
    $ asfound file-log wren ./drive.log --why five --tester 7E0
    --- standard error
    asfound: no tester wrote from `7E0` (those that did: 18DA0EF1; 18DA0EF2)
    hint: `asfound file-log TAG LOG --preview` shows who wrote what
    --- exit code 2
    ");
    let options = "--why 'owner wants five' --tester 18DA0EF1 --another-hand";
    let filed: Witness = shop.json(&format!("file-log wren ./drive.log {options}"));
    assert_eq!((filed.writes[0].entry, filed.writes[1].entry), (Some(4), None));
    assert!(filed.writes[1].shown_by.is_some());
    assert_snapshot!(headlines(&mut shop), @"
    3 reading as found (partial): 1 module, 2 records []
    4 change: body.lane_change_flashes 3 -> 5 [witnessed]
    5 reading as left (partial): 1 module, 2 records; another hand: 1 setting []
    6 witness: drive.log, 2 writes, 1 by another hand []
    ");
}

#[test]
fn one_change_of_the_journal_tells_which_tester_is_the_author_s() {
    let mut shop = shop_with(&two_testers());
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    // Its other writes would be the author's; those of the other tester are asked for.
    let told = shop.refused("file-log wren ./drive.log --why 'relocks too early'");
    assert!(told.err.contains("18DA0EF2"), "{told}");
}

#[test]
fn testers_that_take_turns_on_one_record() {
    let by_f2 = BODY_BY_F2;
    // F1 writes five, F2 locks by horn, F1 writes four: what F2 altered is not F1's.
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).wait(Duration::seconds(5));
    log.read(by_f2, "0D01", FIVE).write(by_f2, "0D01", "1D034060").wait(Duration::seconds(5));
    let unread = log.text().to_owned();
    log.read(BODY, "0D01", "1D034060").write(BODY, "0D01", "1C03405F").read(BODY, "0D01", "1C03405F");
    let mut shop = shop_with(&log);
    let options = "--why 'four after all' --tester 18DA0EF1 --another-hand";
    let _ = shop.run(&format!("file-log wren ./drive.log {options}")).done();
    assert_snapshot!(headlines(&mut shop), @"
    3 reading as found (partial): 1 module, 1 record []
    4 change: body.lane_change_flashes 3 -> 5 [witnessed]
    5 reading check (partial): 1 module, 1 record; another hand: 1 setting []
    6 change: body.lane_change_flashes 5 -> 4 [witnessed]
    7 reading as left (partial): 1 module, 1 record []
    8 witness: drive.log, 3 writes, 1 by another hand []
    ");
    // Where nobody read in between, it cannot be told apart.
    let mut log = BusLog::at(MORNING + Duration::minutes(2));
    log.write(BODY, "0D01", "1C03405F").read(BODY, "0D01", "1C03405F");
    let mut shop = shop_with(&log);
    shop.write("drive.log", format!("{unread}{}", log.text()));
    assert_snapshot!(shop.refused(&format!("file-log wren ./drive.log {options}")), @"
    $ asfound file-log wren ./drive.log --why 'four after all' --tester 18DA0EF1 --another-hand
    --- standard error
    asfound: body record 0D01: another tester wrote it between your writes, and
             nobody read it there
    hint: whose the bits are cannot be told apart: name both with `--tester`, or say
          the same with `--another-hand` and without `--why`
    --- exit code 3
    ");
}

#[test]
fn two_buses_that_are_mirrored() {
    let mut log = begun();
    log.write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    // The second logger stands behind a gateway: the same frames, 400 microseconds later.
    let mut lines: Vec<(f64, String)> = Vec::new();
    for line in log.text().lines() {
        let (at, rest) = line[1..].split_once(") can0 ").expect("a frame");
        let at: f64 = at.parse().expect("seconds");
        for (later, bus) in [(0.0, "can0"), (0.0004, "can1")] {
            lines.push((at + later, format!("({:.6}) {bus} {rest}", at + later)));
        }
    }
    lines.sort_by(|a, b| a.0.total_cmp(&b.0));
    let text: String = lines.into_iter().map(|(_, line)| line + "\n").collect();
    let mut shop = shop_with(&log);
    shop.write("drive.log", text);
    let filed: Witness = shop.json("file-log wren ./drive.log --why 'owner wants five'");
    assert_eq!((filed.writes.len(), filed.modules[0].mirrored.clone()), (1, vec!["can1".to_owned()]));
    assert_snapshot!(headlines(&mut shop), @"
    3 reading as found (partial): 1 module, 1 record []
    4 change: body.lane_change_flashes 3 -> 5 [witnessed]
    5 reading as left (partial): 1 module, 1 record []
    6 witness: drive.log, 1 write []
    ");
    accuses_nobody(&mut shop);
}

#[test]
fn a_log_that_surfaces_late_is_asked_about_too() {
    let log = two_testers();
    let mut shop = shop_with(&log);
    shop.wait_until(time::macros::datetime!(2026-03-20 08:00 +1));
    let _ = shop.run("read wren --value body.lane_change_flashes=5 --partial").done();
    let told = shop.refused("file-log wren ./drive.log");
    assert!(told.err.contains("lane_change_flashes 3 -> 5"), "{told}");
}
