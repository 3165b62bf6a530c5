//! Small faults of a log: what is put right, and what stays broken.
//!
//! The frames of the long message are those that can-isotp 2.0.7 sent on a virtual bus (ISO 15765-2, block size 2).

#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

use asfound_wire::conversation::{
    Conversations, Exchanges, ModuleAddress, ModuleTimeline, RecordHappening, Timeline, WriteOutcome,
};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions, Message};
use asfound_wire::log::read_log;
use asfound_wire::transport::{FailedMessage, FailureReason, Mending};

const LONG: [&str; 5] =
    ["102062F190314734", "2141483539483435", "2247313138333431", "2300000000000000", "240000000000AAAA"];
const WHOLE: &str = "62F19031473441483539483435473131383334310000000000000000000000 00";

fn hex(bytes: &[u8]) -> String {
    let hex: Vec<String> = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
    hex.concat()
}

/// Lines of a log: milliseconds, identifier, bytes.
fn log(frames: &[(u32, &str, &str)]) -> String {
    let line =
        |(at, id, data): &(u32, &str, &str)| format!("({}.{:03}) can0 {id}#{data}\n", 100 + at / 1000, at % 1000);
    frames.iter().map(line).collect()
}

struct Listened {
    messages: Vec<Message>,
    broken: Vec<FailedMessage>,
    conversations: Conversations,
}

fn hear_as(text: &[String], pairs: &[&str]) -> Listened {
    let pairs = pairs.iter().map(|pair| pair.parse().unwrap()).collect();
    let mut listener = Listener::new(ListenerOptions { pairs, ..ListenerOptions::default() });
    let (mut exchanges, mut timeline) = (Exchanges::default(), Timeline::default());
    let (mut messages, mut broken) = (Vec::new(), Vec::new());
    let mut take = |heard: BusEvent, pairs: &_| match heard {
        BusEvent::Message(message) => {
            exchanges.message(&message, pairs, &mut |exchange| timeline.exchange(&exchange));
            messages.push(message);
        }
        BusEvent::Broken(one) => {
            timeline.broken(&one, pairs);
            broken.push(one);
        }
        BusEvent::Ip(_) | BusEvent::Problem(_) => panic!("nothing of that is in here"),
    };
    for text in text {
        listener.next_log();
        read_log(text.as_bytes(), |item| listener.item(item, &mut take)).unwrap();
    }
    let pairs = listener.pairs().clone();
    listener.finish(&mut take);
    exchanges.finish(&pairs, &mut |exchange| timeline.exchange(&exchange));
    Listened { messages, broken, conversations: timeline.finish(&|_: &ModuleAddress, _| None) }
}

fn hear(frames: &[(u32, &str, &str)]) -> Listened {
    hear_as(&[log(frames)], &["7E0:7E8"])
}

fn mended(message: &Message) -> Vec<Mending> {
    message.mended.iter().collect()
}

fn module(listened: &Listened) -> &ModuleTimeline {
    assert_eq!(listened.conversations.modules.len(), 1);
    listened.conversations.modules.values().next().unwrap()
}

/// The long message's frames in some order, a millisecond apart, or all of one moment.
fn long(order: &[usize], apart: u32) -> Vec<(u32, &'static str, &'static str)> {
    (0..).zip(order).map(|(at, place)| (at * apart, "7E8", LONG[*place])).collect()
}

#[test]
fn a_frame_that_stands_twice_is_taken_once() {
    let whole = WHOLE.replace(' ', "");
    for order in
        [&[0, 0, 1, 1, 2, 2, 3, 3, 4, 4][..], &[0, 1, 1, 2, 3, 4], &[0, 1, 2, 3, 4, 4], &[0, 0, 1, 0, 1, 2, 1, 3, 4]]
    {
        for apart in [0, 1] {
            let listened = hear(&long(order, apart));
            let given: Vec<String> = listened.messages.iter().map(|message| hex(&message.payload)).collect();
            assert_eq!(given, std::slice::from_ref(&whole), "{order:?}");
            assert!(listened.broken.is_empty(), "{order:?}: {:?}", listened.broken);
            // Of the last frame nobody needs to know.
            let should = if order[..5] == [0, 1, 2, 3, 4] { vec![] } else { vec![Mending::Doubled] };
            assert_eq!(mended(&listened.messages[0]), should, "{order:?}");
        }
    }
}

#[test]
fn frames_of_one_moment_come_in_the_order_in_which_they_can() {
    let whole = WHOLE.replace(' ', "");
    for order in [[1, 0, 2, 3, 4], [4, 3, 2, 1, 0], [0, 2, 1, 4, 3], [2, 0, 4, 1, 3]] {
        let listened = hear(&long(&order, 0));
        assert_eq!(listened.messages.len(), 1, "{order:?}: {:?}", listened.broken);
        assert_eq!(hex(&listened.messages[0].payload), whole);
        assert_eq!(mended(&listened.messages[0]), [Mending::OutOfOrder]);
        // With other moments it is no fault of the log: ISO 15765-2 has the receiver give up (N_WRONG_SN).
        let apart = hear(&long(&order, 1));
        assert!(order == [0, 2, 1, 4, 3] || apart.messages.is_empty(), "{order:?}");
    }
    let sound = hear(&long(&[0, 1, 2, 3, 4], 0));
    assert_eq!(mended(&sound.messages[0]), []);
}

#[test]
fn a_message_that_goes_on_in_the_next_log() {
    for cut in 1..5 {
        let frames = long(&[0, 1, 2, 3, 4], 1);
        let (first, second) = frames.split_at(cut);
        let listened = hear_as(&[log(first), log(second)], &["7E0:7E8"]);
        assert_eq!(hex(&listened.messages[0].payload), WHOLE.replace(' ', ""));
        assert_eq!(mended(&listened.messages[0]), [Mending::AcrossLogs]);
    }
    let apart = hear_as(&[log(&long(&[0, 1, 2, 3, 4], 1)), log(&[(9, "7E8", "037F2278AAAAAAAA")])], &["7E0:7E8"]);
    assert_eq!(mended(&apart.messages[0]), []);
}

#[test]
fn what_is_missing_stays_missing() {
    for (order, why) in [
        (&[0, 1, 3, 4][..], FailureReason::WrongNumber { expected: 2, got: 3 }),
        (&[0, 3, 4], FailureReason::WrongNumber { expected: 1, got: 3 }),
        (&[0, 2, 4], FailureReason::WrongNumber { expected: 1, got: 2 }),
        (&[0, 1, 2, 3], FailureReason::Unfinished { have: 27, of: 32 }),
    ] {
        let listened = hear(&long(order, 1));
        assert!(listened.messages.is_empty());
        assert_eq!(listened.broken.iter().map(|broken| broken.why).collect::<Vec<_>>(), [why], "{order:?}");
    }
    let listened = hear(&long(&[0, 1, 3, 4], 1));
    let broken = &listened.broken[0];
    let whole = WHOLE.replace(' ', "");
    assert_eq!((hex(&broken.partial), hex(&broken.after)), (whole[..26].to_owned(), whole[40..].to_owned()));
    assert_eq!(broken.length, Some(32));
}

/// A record of twelve bytes is written: the request has three frames.
const WRITE: [&str; 3] = ["100F2E0D01010203", "210405060708090A", "220B0CAAAAAAAAAA"];
const FLOW: &str = "300000AAAAAAAAAA";
const WRITTEN: &str = "036E0D01AAAAAAAA";

#[test]
fn what_is_left_of_a_request_belongs_to_the_write_that_was_accepted() {
    let gap = |frames: &[(u32, &'static str, &'static str)]| {
        let listened = hear(frames);
        let timeline = module(&listened);
        let [story] = timeline.records[&0x0D01].writes()[..] else { panic!("one write: {:?}", timeline.records) };
        assert_eq!((story.written, story.outcome), (None, WriteOutcome::Accepted));
        let gap = story.gap.map(|gap| (hex(&gap.before), gap.missing, hex(&gap.after)));
        (gap, story.tester.is_some(), story.at.unwrap().nanoseconds() / 1_000_000 - 100_000)
    };
    let first = (1, "7E0", WRITE[0]);
    let rest = [(5, "7E8", WRITTEN), (9, "7E0", "03220D01AAAAAAAA")];
    let all = |frames: &[(u32, &'static str, &'static str)]| [frames, &rest].concat();
    let middle = gap(&all(&[first, (2, "7E8", FLOW), (4, "7E0", WRITE[2])]));
    assert_eq!(middle, (Some(("010203".to_owned(), 7, "0B0C".to_owned())), true, 1));
    let last = gap(&all(&[first, (2, "7E8", FLOW), (3, "7E0", WRITE[1])]));
    assert_eq!(last, (Some(("0102030405060708090A".to_owned(), 2, String::new())), true, 1));
    // The beginning tells the record; without it nothing is known of what was written.
    let beginning = gap(&all(&[(3, "7E0", WRITE[1]), (4, "7E0", WRITE[2])]));
    assert_eq!(beginning, (None, true, 5));
}

#[test]
fn what_is_left_of_a_request_that_was_not_accepted_belongs_to_nothing() {
    for answer in ["037F2E31AAAAAAAA", "036E0D02AAAAAAAA"] {
        let listened = hear(&[(1, "7E0", WRITE[0]), (2, "7E8", FLOW), (4, "7E0", WRITE[2]), (5, "7E8", answer)]);
        let writes = module(&listened).records.values().flat_map(|record| record.writes());
        assert!(writes.filter(|story| story.gap.is_some()).count() == 0, "{answer}");
    }
    // The next write is another one.
    let listened = hear(&[
        (1, "7E0", WRITE[0]),
        (2, "7E8", FLOW),
        (4, "7E0", WRITE[2]),
        (5, "7E0", "042E0D0107AAAAAA"),
        (6, "7E8", WRITTEN),
        (7, "7E8", "036E0D02AAAAAAAA"),
    ]);
    let story = module(&listened).records[&0x0D01].writes()[0];
    assert_eq!((story.written, story.gap), (Some(&[7][..]), None));
}

#[test]
fn a_response_that_stands_before_its_request() {
    let listened = hear(&[
        (1, "7E8", "04620D0103AAAAAA"),
        (1, "7E0", "03220D01AAAAAAAA"),
        (2, "7E8", WRITTEN),
        (2, "7E0", "042E0D0105AAAAAA"),
        // The response to the write before stands after the next request.
        (3, "7E0", "042E0D0106AAAAAA"),
        (4, "7E0", "03220D01AAAAAAAA"),
        (4, "7E8", WRITTEN),
        (5, "7E8", "04620D0106AAAAAA"),
    ]);
    let timeline = module(&listened);
    assert_eq!((timeline.without_request, timeline.without_answer), (0, 0));
    let told: Vec<_> = timeline.records[&0x0D01].events().iter().map(|event| event.what.clone()).collect();
    let write = |byte| RecordHappening::Write { bytes: Some(vec![byte]), outcome: WriteOutcome::Accepted };
    assert_eq!(told[1..3], [write(5), write(6)]);
    let stories = timeline.records[&0x0D01].writes();
    assert_eq!(stories[0].before.unwrap().0, [3]);
    assert_eq!(stories[1].after.unwrap().0, [6]);
    assert!(stories.iter().all(|story| story.mended.iter().eq([Mending::OutOfOrder])));
    // At another moment it is an answer to nothing.
    let apart = hear(&[(1, "7E8", WRITTEN), (2, "7E0", "042E0D0105AAAAAA")]);
    assert_eq!((module(&apart).without_request, module(&apart).without_answer), (1, 1));
}

#[test]
fn requests_and_responses_that_stand_twice() {
    let listened = hear(&[
        (1, "7E0", "042E0D0105AAAAAA"),
        (1, "7E0", "042E0D0105AAAAAA"),
        (2, "7E8", "037F2E78AAAAAAAA"),
        (2, "7E8", "037F2E78AAAAAAAA"),
        (9, "7E8", WRITTEN),
        (9, "7E8", WRITTEN),
    ]);
    let timeline = module(&listened);
    assert_eq!((timeline.without_request, timeline.without_answer), (0, 0));
    let [story] = timeline.records[&0x0D01].writes()[..] else { panic!("one write") };
    assert!(story.mended.iter().eq([Mending::Doubled]));
    assert_eq!(story.outcome, WriteOutcome::Accepted);
    // Asked again after a second it is another request.
    let again = hear(&[(1, "7E0", "042E0D0105AAAAAA"), (1001, "7E0", "042E0D0105AAAAAA"), (1002, "7E8", WRITTEN)]);
    let outcomes: Vec<_> = module(&again).records[&0x0D01].writes().iter().map(|story| story.outcome).collect();
    assert_eq!(outcomes, [WriteOutcome::NoAnswer, WriteOutcome::Accepted]);
}

#[test]
fn a_pair_is_found_in_a_log_that_has_everything_twice() {
    let mut frames = Vec::new();
    for (at, id, data) in [
        (1, "7A4", "03220D01AAAAAAAA"),
        (3, "7AC", "100F620D01010203"),
        (5, "7A4", FLOW),
        (7, "7AC", "210405060708090A"),
        (9, "7AC", "220B0CAAAAAAAAAA"),
        (11, "7A4", WRITE[0]),
        (13, "7AC", FLOW),
        (15, "7A4", WRITE[1]),
        (17, "7A4", WRITE[2]),
        (19, "7AC", WRITTEN),
    ] {
        frames.extend([(at, id, data), (at + 1, id, data)]);
    }
    let listened = hear_as(&[log(&frames)], &[]);
    let timeline = module(&listened);
    assert_eq!(timeline.records[&0x0D01].writes().len(), 1);
    assert!(listened.broken.is_empty() && timeline.without_request == 0, "{:?}", listened.broken);
}
