//! Logs of the diagnostic bus: what they show, and what they witness.

mod accounts;
mod another_hand;
mod asked;
mod confirmed;
mod filed;
mod live_values;
mod mended;
mod on_ip;
mod placing;
mod shown;
mod untold;

use asfound_tests::{BusLog, BusModule, Workshop};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

/// The body module of `wren`, by normal fixed addressing of the address that its reading gives.
const BODY: BusModule = BusModule("18DA0EF1", "18DAF10E");
/// Its record of comfort functions as it was found, and with five lane-change flashes.
const FOUND: &str = "13034056";
const FIVE: &str = "15034058";

/// When the log begins: before the workshop's clock, after the reading as found.
const MORNING: OffsetDateTime = datetime!(2026-03-14 09:27:03.25 +1);

/// The usual work: a session, unlocking, the record read, written and read again.
fn five_flashes() -> BusLog {
    let mut log = BusLog::at(MORNING);
    log.ask(BODY, "1003").answer(BODY, "5003003201F4");
    log.read(BODY, "0D01", FOUND);
    log.ask(BODY, "2701").answer(BODY, "670111223344").ask(BODY, "2702DEADBEEF").answer(BODY, "6702");
    log.wait(Duration::seconds(20));
    log.ask(BODY, &format!("2E0D01{FIVE}")).answer(BODY, "7F2E78").answer(BODY, "6E0D01");
    log.wait(Duration::seconds(1));
    log.read(BODY, "0D01", FIVE);
    log
}

/// A workshop where `wren` is read as found, with a log beside it.
fn shop_with(log: &BusLog) -> Workshop {
    shop_with_file("drive.log", log.text())
}

/// The same with a log of any form.
fn shop_with_file(name: &str, content: impl AsRef<[u8]>) -> Workshop {
    let mut shop = Workshop::with_wren();
    shop.wait_until(datetime!(2026-03-14 10:00 +1));
    shop.write(name, content);
    shop
}
