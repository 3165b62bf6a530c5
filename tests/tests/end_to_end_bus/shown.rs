//! `wire show`: a log by itself, without any garage.

use asfound_tests::json::{Wire, WireBroken, WireMessage};
use asfound_tests::{BusLog, Workshop};
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
    time            1773476823.251500 to 1773476844.305500
    frames          37 frames
    diagnostics     13 messages, 0 did not get through

    module can0 18DAF10E
    asked by        can0 18DA0EF1
    SERVICE                         EXCHANGES
    ─────────────────────────────────────────
    10 diagnostic session control           1
    22 read data by identifier              2
    27 security access                      2
    2E write data by identifier             1
    records         1 record
    writes          1 accepted, 0 refused, 0 without an answer in the log
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
