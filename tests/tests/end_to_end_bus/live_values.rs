//! A log of live values, cut in two: what moves by itself accuses nobody, and is counted.

use asfound_tests::json::{Comparison, Entry, ReadingFiled, Sheet};
use asfound_tests::{BusLog, Workshop};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use crate::{BODY, MORNING};

/// So many records stay as they are, and so many are measured.
const STILL: u16 = 12;
const LIVE: u16 = 8;

/// What a record of the body module holds, so many seconds after the beginning. No definition names any of them.
fn held(record: u16, seconds: u32, noise: &mut u32) -> String {
    if record >= LIVE {
        return format!("{:02X}5A0{}", record * 3, record % 7);
    }
    match record % 4 {
        // How often something happened.
        0 => format!("{:06X}", 0x3F00 + 5 * seconds + u32::from(record)),
        // A sensor with noise in its lowest bits.
        1 => {
            *noise = noise.wrapping_mul(0x0001_9660).wrapping_add(0x3C6E_F35F).rotate_left(5);
            format!("{:04X}", 0x0B70 + (*noise >> 8) % 13)
        }
        // A temperature that rises by one in four minutes: in neither half more than once.
        2 => format!("{:02X}00", 0x62 + (seconds + 30 * u32::from(record)) / 240),
        // A clock.
        _ => format!("{:02}{:02}{:02}", 9 + seconds / 3600, seconds / 60 % 60, seconds % 60),
    }
}

/// Every record in turn, one after the other, for so many rounds.
fn half(begins: OffsetDateTime, first: u32, rounds: u32) -> BusLog {
    let (mut log, mut noise) = (BusLog::at(begins), 23 + first);
    for round in 0..rounds {
        for record in 0..LIVE + STILL {
            let held = held(record, first + round * 3, &mut noise);
            log.read(BODY, &format!("{:04X}", 0x2100 + record), &held);
        }
        log.wait(Duration::seconds(3));
    }
    log
}

fn shop() -> Workshop {
    let mut shop = Workshop::with_wren();
    shop.wait_until(datetime!(2026-03-14 10:00 +1));
    shop.write("first.log", half(MORNING, 0, 12).text());
    shop.write("second.log", half(MORNING + Duration::minutes(9), 540, 12).text());
    let _ = shop.run("file-log wren ./first.log").done();
    let _ = shop.run("file-log wren ./second.log").done();
    shop
}

#[test]
fn a_log_cut_in_two_accuses_nobody() {
    let mut shop = shop();
    let second: Entry = shop.json("entry wren 5");
    assert_eq!(second.entry.kind, "reading");
    assert!(second.alterations.is_empty(), "{:?}", second.alterations);
    let compared: Comparison = shop.json("compare wren 4 6");
    assert!(compared.same);
    let records = || compared.modules.iter().flat_map(|module| &module.records).filter(|one| one.verdict == "same");
    assert_eq!(records().count(), usize::from(LIVE + STILL));
    let moving: Vec<_> = records().filter(|record| !record.moving.bits.is_empty()).collect();
    assert_eq!(moving.len(), usize::from(LIVE));
    assert!(moving.iter().all(|record| record.moving.times_seen > 0 && !record.moving.shown_by.is_empty()));
    let text = shop.run("compare wren 4 6").done().out;
    assert!(text.contains("Changes by itself, so left out"), "{text}");
    assert!(!text.contains("Cannot tell:"), "{text}");
}

#[test]
fn weeks_later_what_moves_is_left_out_and_of_the_rest_nobody_can_tell() {
    let mut shop = shop();
    shop.wait_until(datetime!(2026-04-11 08:00 +2));
    // The counter, of which the low bytes are known to move; and a byte that never did.
    shop.write(
        "reading.toml",
        "format = \"asfound-reading/1\"\n[modules.body.records]\n2100 = \"00 3F 7C\"\n210A = \"1E 5B 03\"\n",
    );
    let text = shop.run("read wren ./reading.toml --partial").done().out;
    assert!(!text.to_lowercase().contains("another hand"), "{text}");
    assert!(text.contains("Changes by itself, so left out"), "{text}");
    let sheet: Sheet = shop.json("handover wren --from 4");
    assert_eq!((sheet.totals.changed_otherwise, sheet.totals.cannot_tell), (0, 1));
    assert!(sheet.totals.bits_moving > 0 && sheet.totals.records_moving > 0);
    let filed: ReadingFiled = {
        shop.wait_until(datetime!(2026-04-12 08:00 +2));
        shop.write(
            "reading.toml",
            "format = \"asfound-reading/1\"\n[modules.body.records]\n2100 = \"00 3F 7E\"\n210A = \"1E 5B 03\"\n",
        );
        shop.json("read wren ./reading.toml --partial")
    };
    assert!(filed.differences.is_empty());
    assert_eq!(filed.left_out.len(), 1);
}
