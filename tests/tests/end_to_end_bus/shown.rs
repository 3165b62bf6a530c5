//! `wire show`: a log by itself, without any garage.

use asfound_tests::json::{Wire, WireBroken, WireMessage};
use asfound_tests::{BusLog, BusModule, Workshop};
use insta::assert_snapshot;

use crate::{BODY, MORNING, five_flashes};

#[test]
fn a_log_on_a_page() {
    let mut shop = Workshop::new();
    shop.write("drive.log", five_flashes().text());
    assert_snapshot!(shop.run("wire show ./drive.log").done(), @"
    $ asfound wire show ./drive.log
    ./drive.log · candump
    ════════════════════════════════════════════════════════════════════════════════
    time            2026-03-14 09:27:03.251 to 09:27:24.305 (+01:00), 21.054 s
    frames          37 frames on can0
    diagnostics     13 messages, 0 did not get through

    written
      · 09:27:23.290 18DAF10E record 0D01 by 18DA0EF1: byte 0 was 13, now 15; byte 3
        was 56, now 58; accepted, and read back the same

    modules
    MODULE     ASKED BY   PART NUMBER   EXCHANGES   RECORDS   REFUSED   SILENT
    ──────────────────────────────────────────────────────────────────────────
    18DAF10E   18DA0EF1   –                     6         1         0        0

    SERVICE                         EXCHANGES
    ─────────────────────────────────────────
    22 read data by identifier              2
    27 security access                      2
    10 diagnostic session control           1
    2E write data by identifier             1
    --- exit code 0
    ");
}

#[test]
fn one_line_for_each_message() {
    let mut shop = Workshop::new();
    let mut log = five_flashes();
    // A message that breaks off: its second frame is missing.
    log.read(BODY, "0D03", &"00".repeat(20));
    let lost = log.text().lines().rev().nth(1).expect("it has frames").to_owned();
    shop.write("drive.log", log.text().replace(&format!("{lost}\n"), ""));
    let lines = shop.json_lines("wire show ./drive.log");
    let (mut messages, mut broken) = (Vec::new(), Vec::new());
    for line in &lines[..lines.len() - 1] {
        match line.schema().as_str() {
            "asfound/wire-message/1" => messages.push(line.read::<WireMessage>()),
            _ => broken.push(line.read::<WireBroken>()),
        }
    }
    let whole: Wire = lines.last().expect("there is a last line").read();
    assert_eq!((whole.messages, whole.broken), (messages.len() as u64, broken.len() as u64));
    assert_eq!(broken.len(), 1);
    let write = messages.iter().find(|message| message.service == "2E" && message.role == "request").expect("a write");
    assert_eq!(
        (write.payload.as_str(), write.frames, write.from.id.as_deref()),
        ("2E0D0115034058", 1, Some("18DA0EF1"))
    );
    let pending = messages.iter().find(|message| message.refusal.is_some()).expect("it was pending");
    assert_eq!(pending.refusal.as_deref(), Some("78 request correctly received, response pending"));
    let secret: Vec<_> = messages.iter().filter(|message| message.blanked).map(|message| &message.payload).collect();
    assert_eq!(secret, ["670100000000", "270200000000"]);
}

#[test]
fn a_pair_that_is_said() {
    let mut shop = Workshop::new();
    let mut log = BusLog::at(MORNING);
    log.ask(BODY, "220D01");
    shop.write("drive.log", log.text());
    let alone: Wire = shop.last_json_line("wire show ./drive.log");
    assert_eq!(alone.messages, 0);
    assert!(alone.undecided.iter().any(|one| one.id == BODY.0), "{:?}", alone.undecided);
    let said: Wire = shop.last_json_line("wire show ./drive.log --pair 18DA0EF1:18DAF10E");
    assert_eq!((said.messages, said.modules[0].without_answer), (1, 1));
}

#[test]
fn what_is_not_read_is_named_with_the_line_that_converts_it() {
    let mut shop = Workshop::new();
    shop.write("drive.asc", include_bytes!("../../../crates/asfound-wire/tests/data/other.asc"));
    let refused = shop.refused("wire show ./drive.asc");
    let said = refused.flat();
    assert!(refused.exit == 2 && said.contains("an ASC log, which is not read"), "{refused}");
    assert!(said.contains("`python -m can.logconvert ./drive.asc ./drive.log`"), "{refused}");
    shop.write("drive.blf", include_bytes!("../../../crates/asfound-wire/tests/data/other.blf"));
    let said = shop.refused("wire show ./drive.blf").flat();
    assert!(said.contains("`tshark -r ./drive.blf -w ./drive.pcapng`"), "{said}");
    shop.write("drive.log", "");
    let said = shop.refused("wire show ./drive.log").flat();
    assert!(said.contains("the log is empty") && !said.contains("candump"), "{said}");
    shop.write("drive.log", "Dear diary\n");
    let said = shop.refused("wire show ./drive.log").flat();
    assert!(said.contains("nothing in it is a bus log"), "{said}");
}

#[test]
fn times_without_a_date_are_never_shown_as_one() {
    let mut shop = Workshop::new();
    let (mut first, mut before) = (None, None);
    let (mut counted, mut differences) = (String::new(), String::new());
    for line in five_flashes().text().lines() {
        let (time, rest) = line[1..].split_once(") ").expect("the line has a time");
        let (seconds, micros) = time.split_once('.').expect("the time has decimals");
        let now = seconds.parse::<u64>().expect("seconds") * 1_000_000 + micros.parse::<u64>().expect("micros");
        let shown = |micros: u64| format!("({:03}.{:06}) {rest}\n", micros / 1_000_000, micros % 1_000_000);
        counted += &shown(now - *first.get_or_insert(now));
        differences += &shown(now - before.replace(now).unwrap_or(now));
    }
    let mut pages = Vec::new();
    for (text, clock) in [(counted, "beginning"), (differences, "line-before")] {
        shop.write("drive.log", text);
        let whole: Wire = shop.last_json_line("wire show ./drive.log");
        assert_eq!((whole.clock.as_str(), whole.messages), (clock, 13));
        pages.push(shop.run("wire show ./drive.log").done().out);
    }
    assert!(pages[0].contains("the log tells no date") && !pages[0].contains("1970"), "{}", pages[0]);
    assert_eq!(pages[0], pages[1]);
}

#[test]
fn a_log_with_very_many_writes_and_modules_fits_sixty_lines() {
    let mut shop = Workshop::new();
    let mut log = BusLog::at(MORNING);
    for number in 0..40_u8 {
        let address = number + 0x20;
        let leaked = |text: String| -> &'static str { Box::leak(text.into_boxed_str()) };
        let module = BusModule(leaked(format!("18DA{address:02X}F1")), leaked(format!("18DAF1{address:02X}")));
        for record in ["0D01", "0D02"] {
            log.read(module, record, "13405800").write(module, record, "15405801").read(module, record, "15405801");
        }
    }
    shop.write("drive.log", log.text());
    let page = shop.run("wire show ./drive.log").done().out;
    assert!(page.lines().count() <= 60, "{page}");
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("and 70 more writes") && page.contains("And 28 more modules."), "{page}");
    assert!(page.contains("byte 0 was 13, now 15; byte 3 was 00, now 01; accepted, and read back the same"), "{page}");
}

#[test]
fn what_is_open_at_the_end_stands_before_what_was_written() {
    let mut shop = Workshop::new();
    let mut log = five_flashes();
    log.ask(BODY, "8502").answer(BODY, "C502").ask(BODY, "1002").answer(BODY, "5002003201F4");
    log.ask(BODY, "3B1203").answer(BODY, "7B12").ask(BODY, "34001104").answer(BODY, "741082");
    log.ask(BODY, "3601AABBCC").answer(BODY, "7601").ask(BODY, "3602DD").answer(BODY, "7602");
    shop.write("drive.log", log.text());
    assert_snapshot!(shop.run("wire show ./drive.log").done(), @"
    $ asfound wire show ./drive.log
    ./drive.log · candump
    ════════════════════════════════════════════════════════════════════════════════
    time            2026-03-14 09:27:03.251 to 09:27:24.323 (+01:00), 21.072 s
    frames          49 frames on can0
    diagnostics     25 messages, 0 did not get through

    left open at the end of the log
      · 18DAF10E: transfer to the module not ended, after 2 blocks with 4 bytes,
        since 09:27:24.316
      · 18DAF10E: programming session not left, since 09:27:24.310
      · 18DAF10E: recording of trouble codes off (85 02), since 09:27:24.307

    written
      · 09:27:23.290 18DAF10E record 0D01 by 18DA0EF1: byte 0 was 13, now 15; byte 3
        was 56, now 58; accepted, and read back the same
      · 09:27:24.313 18DAF10E local record 12 by 18DA0EF1: now 03, not read before;
        accepted, not read back

    modules
    MODULE     ASKED BY   PART NUMBER   EXCHANGES   RECORDS   REFUSED   SILENT
    ──────────────────────────────────────────────────────────────────────────
    18DAF10E   18DA0EF1   –                    12         2         0        0

    SERVICE                             EXCHANGES
    ─────────────────────────────────────────────
    10 diagnostic session control               2
    22 read data by identifier                  2
    27 security access                          2
    36 transfer data                            2
    2E write data by identifier                 1
    34 request download                         1
    3B write data by local identifier           1
    85 control DTC setting                      1
    --- exit code 0
    ");
    let whole: Wire = shop.last_json_line("wire show ./drive.log");
    let open: Vec<_> =
        whole.left_open.iter().map(|open| (open.what.as_str(), open.number.as_deref(), open.bytes)).collect();
    assert_eq!(open, [("transfer-to-module", None, Some(4)), ("session", Some("02"), None), ("codes-off", None, None)]);
    assert_eq!((whole.modules[0].writes.accepted, whole.modules[0].local_records), (2, 1));
}

#[test]
fn a_log_with_a_vin_by_service_09_of_another_vehicle_is_not_filed() {
    let mut log = five_flashes();
    let vin = |text: &str| format!("490201{}", asfound_tests::hex_of(text));
    log.ask(BODY, "0902").answer(BODY, &vin("XWR1234567890TEST"));
    let mut shop = crate::shop_with(&log);
    let _ = shop.run("enrol plover --vin XWR1234567890TEXT");
    let page = shop.run("wire show ./drive.log").done();
    assert!(page.flat().contains("VIN XWR1234567890TEST"), "{page}");
    let refused = shop.refused("file-log plover ./drive.log --preview");
    assert!(refused.exit == 2 && refused.flat().contains("the vehicle in the logs says VIN"), "{refused}");
}
