//! What a log leaves open, and what was written without a data identifier. Services and numbers are those of ISO 14229-1,
//! ISO 14230-3 and ISO 15031-5 (SAE J1979), from memory; routine numbers as udsoncan 1.26.1 has them.

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

use asfound_wire::conversation::{
    ActionKind, Conversations, Exchanges, ModuleAddress, ModuleTimeline, OpenMatter, Timeline, WriteOutcome,
};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions};
use asfound_wire::log::read_log;
use asfound_wire::service::{Refusal, routine_name};

/// What single frames say, a tenth of a second apart; `7E0` is asked and `7E8` answers, and so with `7E1` and `7E9`.
fn hear(messages: &[(&str, &str)]) -> Conversations {
    let mut text = String::new();
    for (number, (id, bytes)) in messages.iter().enumerate() {
        let bytes = bytes.replace(' ', "");
        let length = bytes.len() / 2;
        text.push_str(&format!("({}.{}00000) can0 {id}#{length:02X}{bytes}\n", 100 + number / 10, number % 10));
    }
    hear_text(&text)
}

fn hear_text(text: &str) -> Conversations {
    let pairs = ["7E0:7E8", "7E1:7E9", "7DF:7E8", "7DF:7E9"].map(|pair| pair.parse().unwrap()).to_vec();
    let mut listener = Listener::new(ListenerOptions { pairs, ..ListenerOptions::default() });
    let (mut exchanges, mut timeline) = (Exchanges::default(), Timeline::default());
    read_log(text.as_bytes(), |item| {
        listener.item(item, &mut |heard, pairs| {
            if let BusEvent::Message(message) = heard {
                exchanges.message(&message, pairs, &mut |exchange| timeline.exchange(&exchange));
            }
        });
    })
    .unwrap();
    exchanges.finish(listener.pairs(), &mut |exchange| timeline.exchange(&exchange));
    timeline.finish(&|_: &ModuleAddress, _| None)
}

fn module(messages: &[(&str, &str)]) -> ModuleTimeline {
    hear(messages).modules.into_values().next().unwrap()
}

fn open(messages: &[(&str, &str)]) -> Vec<(OpenMatter, bool)> {
    module(messages).left_open.iter().map(|open| (open.what, open.accepted)).collect()
}

const PROGRAMMING: [(&str, &str); 4] =
    [("7E0", "10 02"), ("7E8", "50 02 00 32 01 F4"), ("7E0", "34 00 11 10 04"), ("7E8", "74 10 82")];
const BLOCKS: [(&str, &str); 4] = [("7E0", "36 01 AA BB CC"), ("7E8", "76 01"), ("7E0", "36 02 DD"), ("7E8", "76 02")];
const TRANSFER: OpenMatter = OpenMatter::Transfer { up: false, blocks: 2, bytes: 4 };

#[test]
fn a_log_that_ends_in_the_middle_of_a_transfer_says_so() {
    let begun = [&PROGRAMMING[..], &BLOCKS].concat();
    assert_eq!(open(&begun), [(TRANSFER, true), (OpenMatter::Session(2), true)]);
    let ended = [&begun[..], &[("7E0", "37"), ("7E8", "77"), ("7E0", "11 01"), ("7E8", "51 01")]].concat();
    assert_eq!(open(&ended), []);
    // A restart ends the session, and the transfer is still not whole.
    let restarted = [&begun[..], &[("7E0", "11 01"), ("7E8", "51 01")]].concat();
    assert_eq!(open(&restarted), [(TRANSFER, true)]);
    // A refusal ends nothing.
    let refused = [&begun[..], &[("7E0", "37"), ("7E8", "7F 37 24"), ("7E0", "10 01"), ("7E8", "7F 10 22")]].concat();
    assert_eq!(open(&refused), [(TRANSFER, true), (OpenMatter::Session(2), true)]);
    // Neither does what nobody answered, although it wanted an answer.
    let unanswered = [&begun[..], &[("7E0", "37"), ("7E0", "10 01"), ("7E0", "22 F1 90")]].concat();
    assert_eq!(open(&unanswered), [(TRANSFER, true), (OpenMatter::Session(2), true)]);
    // A log that begins in the middle.
    assert_eq!(open(&BLOCKS), [(TRANSFER, true)]);
}

#[test]
fn codes_switched_off_messages_silenced_and_outputs_held_stay_so_until_they_are_given_back() {
    let off = [
        ("7E0", "10 03"),
        ("7E8", "50 03 00 32 01 F4"),
        ("7E0", "85 02"),
        ("7E8", "C5 02"),
        ("7E0", "28 03 01"),
        ("7E8", "68 03"),
        ("7E0", "2F 12 34 03 FF"),
        ("7E8", "6F 12 34 03 FF"),
    ];
    let all = [
        (OpenMatter::Session(3), true),
        (OpenMatter::CodesOff, true),
        (OpenMatter::Silenced(3), true),
        (OpenMatter::Controlled(0x1234), true),
    ];
    assert_eq!(open(&off), all);
    let back = [("7E0", "85 01"), ("7E8", "C5 01"), ("7E0", "28 00 01"), ("7E8", "68 00")];
    assert_eq!(open(&[&off[..], &back].concat()), [all[0], all[3]]);
    let released = [("7E0", "2F 12 34 00"), ("7E8", "6F 12 34 00")];
    assert_eq!(open(&[&off[..], &released].concat()), all[..3]);
    assert_eq!(open(&[&off[..], &[("7E0", "10 01"), ("7E8", "50 01 00 32 01 F4")]].concat()), []);
    // Whether an unanswered request was carried out cannot be told: it is said with that doubt.
    assert_eq!(open(&[("7E0", "85 02"), ("7E0", "22 F1 90"), ("7E8", "62 F1 90 31")]), [(OpenMatter::CodesOff, false)]);
    // What was refused opens nothing.
    assert_eq!(open(&[("7E0", "85 02"), ("7E8", "7F 85 7F"), ("7E0", "34 00"), ("7E8", "7F 34 70")]), []);
}

#[test]
fn what_all_modules_were_asked_at_once_is_open_for_all_and_ends_for_each() {
    let silenced = [("7DF", "85 82"), ("7DF", "28 83 01"), ("7E0", "22 F1 90"), ("7E8", "62 F1 90 31")];
    let heard = hear(&silenced);
    let of_all: Vec<_> = heard.left_open.iter().map(|open| open.what).collect();
    assert_eq!(of_all, [OpenMatter::CodesOff, OpenMatter::Silenced(3)]);
    assert!(heard.modules.values().all(|module| module.left_open.is_empty()));
    let back = [("7DF", "28 80 01"), ("7DF", "85 81"), ("7E0", "3E 00"), ("7E8", "7E 00")];
    assert_eq!(hear(&[&silenced[..], &back].concat()).left_open, []);
    let one_by_one = [("7E0", "85 02"), ("7E8", "C5 02"), ("7E1", "85 02"), ("7E9", "C5 02")];
    let count = |heard: Conversations| heard.modules.values().map(|module| module.left_open.len()).collect::<Vec<_>>();
    assert_eq!(count(hear(&one_by_one)), [1, 1]);
    assert_eq!(count(hear(&[&one_by_one[..], &back].concat())), [0, 0]);
}

#[test]
fn local_records_and_memory_count_as_written() {
    let module = module(&[
        ("7E0", "10 81"),
        ("7E8", "50 81"),
        ("7E0", "21 12"),
        ("7E8", "61 12 01 02"),
        ("7E0", "3B 12 01 03"),
        ("7E8", "7B 12"),
        ("7E0", "21 12"),
        ("7E8", "61 12 01 03"),
        ("7E0", "3B 13 FF"),
        ("7E8", "7F 3B 33"),
        // ISO 14229-1: one byte of size and one of address.
        ("7E0", "3D 11 20 01 AA"),
        ("7E8", "7D 11 20 01"),
        // One of size and two of address, or ISO 14230-3 with address 122000: it cannot be told.
        ("7E0", "3D 12 20 00 01 AA"),
        ("7E8", "7D 12 20 00 01"),
        // ISO 14230-3: three bytes of address, one of size.
        ("7E0", "3D 00 20 48 02 11"),
        ("7E0", "3D 00 20 48 02 11 22"),
        ("7E8", "7D 00 20 48"),
    ]);
    let [story] = module.local_records[&0x12].writes()[..] else { panic!("one write") };
    assert_eq!((story.before.unwrap().0, story.written), (&[1, 2][..], Some(&[1, 3][..])));
    assert_eq!((story.outcome, story.read_back_agrees()), (WriteOutcome::Accepted, Some(true)));
    let [refused] = module.local_records[&0x13].writes()[..] else { panic!("one write") };
    assert_eq!(refused.outcome, WriteOutcome::Refused(Refusal(0x33)));
    let memory: Vec<_> = module
        .memory_writes
        .iter()
        .map(|write| (write.address, write.bytes.as_deref().unwrap(), write.outcome))
        .collect();
    assert_eq!(
        memory,
        [
            (Some(0x20), &[0xAA][..], WriteOutcome::Accepted),
            (None, &[0x12, 0x20, 0x00, 0x01, 0xAA], WriteOutcome::Accepted),
            // Neither form comes out even: all of it is kept, and nothing is said of where.
            (None, &[0x00, 0x20, 0x48, 0x02, 0x11], WriteOutcome::NoAnswer),
            (Some(0x2048), &[0x11, 0x22], WriteOutcome::Accepted),
        ]
    );
    assert_eq!(module.left_open, []);
}

#[test]
fn codes_are_cleared_by_three_services_and_a_refusal_clears_nothing() {
    let module = module(&[
        ("7E0", "04"),
        ("7E8", "44"),
        ("7E0", "14 FF 00"),
        ("7E8", "54 FF 00"),
        ("7E0", "14 FF FF FF"),
        ("7E8", "54"),
        ("7E0", "04"),
        ("7E8", "7F 04 22"),
    ]);
    let done: Vec<_> = module.actions.iter().map(|action| (action.kind, action.accepted)).collect();
    assert_eq!(
        done,
        [
            (ActionKind::ClearEmissionCodes, Some(true)),
            (ActionKind::ClearCodeGroup(0xFF00), Some(true)),
            (ActionKind::ClearCodes(Some(0x00FF_FFFF)), Some(true)),
            (ActionKind::ClearEmissionCodes, Some(false)),
        ]
    );
    assert_eq!(module.without_answer, 0);
}

#[test]
fn the_vin_is_taken_from_service_09() {
    // 49 02, one item, 17 letters: 20 bytes.
    let heard = hear_text(
        "(1.0) can0 7E0#020902\n(1.1) can0 7E8#10144902014E4652\n(1.2) can0 7E0#300000\n\
         (1.3) can0 7E8#21574E3030303130\n(1.4) can0 7E8#2230303030303431\n",
    );
    let module = heard.modules.values().next().unwrap();
    assert_eq!(module.vehicle_information[&2].len(), 18);
    assert_eq!(module.vin_by_information(), Some(&b"NFRWN000100000041"[..]));
}

#[test]
fn routines_that_every_module_has_are_named() {
    let names = ["eraseMemory", "checkProgrammingDependencies", "eraseMirrorMemoryDTCs", "deployLoopRoutineID"];
    assert_eq!([0xFF00, 0xFF01, 0xFF02, 0xE200].map(routine_name), names.map(Some));
    assert_eq!(routine_name(0x0203), None);
}
