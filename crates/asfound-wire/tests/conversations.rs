//! What was done, told from a log: exchanges, records, and what cannot be told.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

use asfound_wire::conversation::{
    ActionKind, Conversations, Exchange, ExchangeOutcome, Exchanges, ModuleAddress, ModuleTimeline, RecordHappening,
    Timeline, WriteOutcome,
};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions};
use asfound_wire::log::read_log;
use asfound_wire::service::Refusal;

/// A log from messages in words: identifier, bytes; single frames only, a tenth of a second apart.
fn log(messages: &[(&str, &str)]) -> String {
    let mut text = String::new();
    for (number, (id, bytes)) in messages.iter().enumerate() {
        let bytes = bytes.replace(' ', "");
        text.push_str(&format!(
            "({}.{}00000) can0 {id}#{:02X}{bytes}\n",
            100 + number / 10,
            number % 10,
            bytes.len() / 2
        ));
    }
    text
}

fn hear(text: &str, lengths: impl Fn(u16) -> Option<usize>) -> (Vec<Exchange>, Conversations) {
    let options = ListenerOptions { pairs: vec!["7E0:7E8".parse().unwrap()], ..ListenerOptions::default() };
    let mut listener = Listener::new(options);
    let (mut exchanges, mut timeline, mut all) = (Exchanges::default(), Timeline::default(), Vec::new());
    read_log(text.as_bytes(), |item| {
        listener.item(item, &mut |heard, pairs| {
            if let BusEvent::Message(message) = heard {
                exchanges.message(&message, pairs, &mut |exchange| all.push(exchange));
            }
        });
    })
    .unwrap();
    exchanges.finish(listener.pairs(), &mut |exchange| all.push(exchange));
    all.iter().for_each(|exchange| timeline.exchange(exchange));
    (all, timeline.finish(&|_: &ModuleAddress, record| lengths(record)))
}

fn module(messages: &[(&str, &str)]) -> ModuleTimeline {
    let conversations = hear(&log(messages), |_| None).1;
    assert_eq!(conversations.modules.len(), 1);
    conversations.modules.into_values().next().unwrap()
}

#[test]
fn a_write_stands_between_what_was_read_before_and_after() {
    let module = module(&[
        ("7E0", "22 30 01"),
        ("7E8", "62 30 01 03"),
        ("7E0", "22 30 01"),
        ("7E8", "62 30 01 03"),
        ("7E0", "2E 30 01 05"),
        ("7E8", "6E 30 01"),
        ("7E0", "22 30 01"),
        ("7E8", "62 30 01 05"),
    ]);
    let record = &module.records[&0x3001];
    assert_eq!((record.first_read(), record.last_read()), (Some(&[3][..]), Some(&[5][..])));
    let RecordHappening::Read(run) = &record.events()[0].what else { panic!() };
    assert_eq!(run.times, 2);
    let [story] = record.writes()[..] else { panic!("one write") };
    assert_eq!((story.before.unwrap().0, story.written, story.after.unwrap().0), (&[3][..], Some(&[5][..]), &[5][..]));
    assert_eq!((story.outcome, story.read_back_agrees()), (WriteOutcome::Accepted, Some(true)));
    assert_eq!(story.at.unwrap().nanoseconds(), 100_400_000_000);
    assert_eq!(story.before.unwrap().1.unwrap().nanoseconds(), 100_200_000_000);
}

#[test]
fn a_refused_write_one_without_answer_and_one_whose_read_back_differs_are_told_apart() {
    let module = module(&[
        ("7E0", "2E 30 01 05"),
        ("7E8", "7F 2E 33"),
        ("7E0", "2E 30 01 06"),
        ("7E0", "2E 30 01 07"),
        ("7E8", "7F 2E 21"),
        ("7E0", "2E 30 01 07"),
        ("7E8", "7F 2E 78"),
        ("7E0", "3E 80"),
        ("7E8", "6E 30 01"),
        ("7E0", "22 30 01"),
        ("7E8", "62 30 01 03"),
    ]);
    let outcomes: Vec<_> = module.records[&0x3001].writes().iter().map(|story| story.outcome).collect();
    let refused = |code| WriteOutcome::Refused(Refusal(code));
    assert_eq!(outcomes, [refused(0x33), WriteOutcome::NoAnswer, refused(0x21), WriteOutcome::Accepted]);
    let agrees: Vec<_> = module.records[&0x3001].writes().iter().map(|story| story.read_back_agrees()).collect();
    assert_eq!(agrees, [None, None, None, Some(false)]);
    assert_eq!((module.without_answer, module.without_request), (1, 0));
}

#[test]
fn a_log_that_starts_in_the_middle_says_so() {
    let module = module(&[
        ("7E8", "6E 30 01"),
        ("7E8", "62 30 02 11"),
        ("7E8", "50 03 00 32 01 F4"),
        ("7E0", "22 30 01"),
        ("7E8", "62 30 01 05"),
    ]);
    assert_eq!(module.without_request, 3);
    let [story] = module.records[&0x3001].writes()[..] else { panic!("one write") };
    assert_eq!((story.written, story.outcome, story.read_back_agrees()), (None, WriteOutcome::Accepted, None));
    // Whether 30 02 was the only record asked for cannot be told.
    assert_eq!(module.unsplit[0].data, [0x30, 0x02, 0x11]);
    assert_eq!(module.actions[0].kind, ActionKind::Session(3));
}

#[test]
fn several_records_at_once_are_told_apart_where_there_is_one_way() {
    let once = module(&[("7E0", "22 10 01 10 02"), ("7E8", "62 10 01 07 10 02 09")]);
    assert_eq!(once.records[&0x1001].last_read(), Some(&[7][..]));
    assert_eq!(once.records[&0x1002].last_read(), Some(&[9][..]));
    // The module left out 1001.
    let left_out = module(&[("7E0", "22 10 01 10 02"), ("7E8", "62 10 02 09")]);
    assert_eq!(left_out.records.keys().collect::<Vec<_>>(), [&0x1002]);

    // Where 1002 begins cannot be told, until a definition or an answer elsewhere in the log tells how long 1001 is.
    let unclear = [("7E0", "22 10 01 10 02"), ("7E8", "62 10 01 10 02 10 02")];
    let data = "1001 0A 1002 1002 0B".replace(' ', "");
    let text = |rest: &str| {
        let (first, second) = data.split_at(10);
        format!(
            "(1.0) can0 7E0#052210011002\n(1.1) can0 7E8#100962{first}\n(1.2) can0 7E0#300000\n\
             (1.3) can0 7E8#21{second}\n{rest}"
        )
    };
    let of = |conversations: &Conversations| conversations.modules.values().next().unwrap().clone();
    let unknown = of(&hear(&text(""), |_| None).1);
    assert_eq!((unknown.unsplit.len(), unknown.records.len()), (1, 0));
    assert_eq!(unknown.unsplit[0].asked, [0x1001, 0x1002]);
    for (known, rest) in [(Some(1), ""), (None, "(2.0) can0 7E0#03221001\n(2.1) can0 7E8#0462100144\n")] {
        let told = of(&hear(&text(rest), |record| known.filter(|_| record == 0x1001)).1);
        assert_eq!(told.unsplit, [], "{known:?}");
        assert_eq!(told.records[&0x1001].first_read(), Some(&[0x0A][..]));
        assert_eq!(told.records[&0x1002].last_read(), Some(&[0x10, 0x02, 0x0B][..]));
    }
    // A length that is not true tells nothing.
    let wrong = of(&hear(&log(&unclear), |record| (record == 0x1001).then_some(2)).1);
    assert_eq!((wrong.unsplit.len(), wrong.records.len()), (1, 0));
}

#[test]
fn a_question_to_all_has_an_exchange_for_each_answer() {
    let text = log(&[
        ("7E0", "22 F1 90"),
        ("7E8", "62 F1 90 31"),
        ("7E1", "22 F1 87"),
        ("7E9", "62 F1 87 32"),
        ("7DF", "22 F1 8C"),
        ("7E8", "62 F1 8C 41"),
        ("7E9", "62 F1 8C 42"),
        ("7DF", "3E 80"),
        ("7DF", "22 F1 99"),
    ]);
    let (all, conversations) = hear(&text, |_| None);
    assert_eq!(conversations.modules.len(), 2);
    for (module, byte) in conversations.modules.values().zip([0x41, 0x42]) {
        assert_eq!(module.records[&0xF18C].last_read(), Some(&[byte][..]));
        assert_eq!(module.testers.len(), 2);
    }
    assert_eq!(conversations.to_nobody, 1);
    let quiet = all.iter().filter(|exchange| exchange.outcome == ExchangeOutcome::NotWanted).count();
    assert_eq!(quiet, 1);
}

#[test]
fn other_work_is_told_and_seeds_and_keys_are_gone() {
    let text = log(&[
        ("7E0", "10 03"),
        ("7E8", "50 03 00 32 01 F4"),
        ("7E0", "27 01"),
        ("7E8", "67 01 11 22 33 44"),
        ("7E0", "27 02 55 66 77 88"),
        ("7E8", "67 02"),
        ("7E0", "14 FF FF FF"),
        ("7E8", "54"),
        ("7E0", "31 01 02 03"),
        ("7E8", "7F 31 22"),
        ("7E0", "19 02 FF"),
        ("7E8", "59 02 FF C0 64 87 2F"),
        ("7E0", "BA 01"),
        ("7E8", "FA 01 02"),
    ]);
    let (all, conversations) = hear(&text, |_| None);
    let shown = format!("{all:?}");
    assert!(!shown.contains("17, 34, 51") && !shown.contains("85, 102, 119"), "{shown}");
    let module = conversations.modules.values().next().unwrap();
    let actions: Vec<_> = module.actions.iter().map(|action| (action.kind, action.accepted)).collect();
    assert_eq!(
        actions,
        [
            (ActionKind::Session(3), Some(true)),
            (ActionKind::SecurityAccess(1), Some(true)),
            (ActionKind::SecurityAccess(2), Some(true)),
            (ActionKind::ClearCodes(Some(0x00FF_FFFF)), Some(true)),
            (ActionKind::Routine(1, 0x0203), Some(false)),
            (ActionKind::Other(0xBA), Some(true)),
        ]
    );
    // U0064-87 of check-values (udsoncan 1.26.1) as it travels.
    assert_eq!((module.codes[0].mask, module.codes[0].codes[0].code), (Some(0xFF), [0xC0, 0x64, 0x87]));
}

#[test]
fn a_log_without_times_has_the_same_exchanges() {
    use asfound_wire::conversation::{ExchangeOutcome, Exchanges};
    use asfound_wire::listening::{BusEvent, Listener, ListenerOptions};
    use asfound_wire::log::read_log;
    use std::io::Read as _;

    /// Request and answer of each exchange that has both, and how many have not.
    fn exchanges(text: &str) -> (Vec<[Vec<u8>; 2]>, usize) {
        let mut listener = Listener::new(ListenerOptions::default());
        let mut exchanges = Exchanges::default();
        let (mut pairs, mut open) = (Vec::new(), 0);
        {
            let mut out = |exchange: asfound_wire::conversation::Exchange| match (exchange.request, exchange.outcome) {
                (Some(request), ExchangeOutcome::Answered(answer) | ExchangeOutcome::Refused(_, answer)) => {
                    pairs.push([request.payload, answer.payload]);
                }
                _ => open += 1,
            };
            let _ = read_log(text.as_bytes(), |item| {
                listener.item(item, &mut |heard, pairs| {
                    if let BusEvent::Message(message) = heard {
                        exchanges.message(&message, pairs, &mut out);
                    }
                });
            })
            .expect("the recorded data is whole");
            let known = listener.pairs().clone();
            listener.finish(&mut |heard, pairs| {
                if let BusEvent::Message(message) = heard {
                    exchanges.message(&message, pairs, &mut out);
                }
            });
            exchanges.finish(&known, &mut out);
        }
        pairs.sort();
        (pairs, open)
    }

    for name in ["isotp-normal.log.gz", "isotp-fixed.log.gz", "isotp-address-byte.log.gz"] {
        let packed = std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).expect("recorded");
        let mut text = String::new();
        flate2::read::MultiGzDecoder::new(&packed[..]).read_to_string(&mut text).expect("recorded");
        let without: Vec<&str> =
            text.lines().map(|line| line.split_once(") ").map_or(line, |(_, rest)| rest)).collect();
        let without = without.join(
            "
",
        );
        let (expected, open) = exchanges(&text);
        let (found, open_without) = exchanges(&without);
        let missing = expected.iter().filter(|pair| !found.contains(pair)).count();
        assert_eq!((missing, open_without), (0, open), "{name}: {} exchanges", expected.len());
    }
}
