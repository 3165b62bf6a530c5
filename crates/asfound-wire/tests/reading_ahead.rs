//! However a log is read, it says the same: in pieces of any size, on one thread or on two, and line by line.
#![allow(clippy::unwrap_used, reason = "a test stops where something is missing")]

use std::io::{self, Read};

use asfound_wire::frame::{CanFrame, CanId, Interfaces};
use asfound_wire::listening::{Listener, ListenerOptions, ListenerSummary};
use asfound_wire::log::{LogFacts, LogItem, SkipIds, candump_line, read_log, read_log_ahead, read_log_passing_over};
use proptest::prelude::*;

/// Gives pieces of these sizes, one after the other and again from the beginning.
struct InPieces<'a> {
    text: &'a [u8],
    sizes: &'a [usize],
    turn: usize,
}

impl<'a> InPieces<'a> {
    fn new(text: &'a [u8], sizes: &'a [usize]) -> Self {
        Self { text, sizes, turn: 0 }
    }
}

impl Read for InPieces<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let most = self.sizes[self.turn % self.sizes.len()].min(into.len());
        self.turn += 1;
        self.text.read(&mut into[..most])
    }
}

fn shown(item: &LogItem<'_>) -> String {
    match item {
        // What stands behind the data is of no account.
        LogItem::Frame(frame) => frame_shown(frame),
        other => format!("{other:?}"),
    }
}

fn frame_shown(frame: &CanFrame) -> String {
    let CanFrame { moment, interface, id, kind, direction, .. } = frame;
    format!("{moment:?} {interface:?} {id} {kind:?} {direction:?} {:02X?}", frame.data())
}

fn facts_shown(facts: &LogFacts) -> String {
    let LogFacts { form, clock, pieces, frames, ip_messages, first, last, problems, swapped_identifiers, interfaces } =
        facts;
    format!(
        "{form:?} {clock:?} {pieces} {frames} {ip_messages} {first:?} {last:?} {problems:?} {swapped_identifiers} {interfaces:?}"
    )
}

fn on_one_thread(reader: impl Read) -> (Vec<String>, String) {
    let mut items = Vec::new();
    let facts = read_log(reader, |item| items.push(shown(&item))).unwrap();
    (items, facts_shown(&facts))
}

fn on_two_threads(reader: impl Read + Send) -> (Vec<String>, String) {
    let mut items = Vec::new();
    let facts = read_log_ahead(reader, &SkipIds::default(), |item| items.push(shown(&item))).unwrap();
    (items, facts_shown(&facts))
}

/// Each line by itself, without anything that is remembered from one to the next but the buses.
fn line_by_line(text: &[u8]) -> (Vec<String>, usize) {
    let (mut interfaces, mut items, mut problems) = (Interfaces::default(), Vec::new(), 0);
    for line in text.split(|byte| *byte == b'\n') {
        let mut frame = CanFrame::empty();
        match candump_line(line, &mut interfaces, &mut frame) {
            Ok(true) => items.push(frame_shown(&frame)),
            Ok(false) => {}
            Err(_) => problems += 1,
        }
    }
    (items, problems)
}

/// A line as logs have them, or nearly so.
fn line() -> impl Strategy<Value = String> {
    let bus = prop_oneof![4 => Just("can0"), 2 => Just("can1"), 1 => Just("vcan12"), 1 => Just("slcan-behind-3")];
    let second = prop_oneof![6 => Just(1_700_000_000u64), 3 => Just(1_700_000_001), 1 => 0..10_000_000_000u64];
    let usual = (second, 0..1_000_000u32, bus, prop_oneof![4 => "[0-7][0-9A-F]{2}", 1 => "1[0-9A-F]{7}"]);
    let data = prop_oneof![6 => "[0-9A-F]{16}", 3 => "([0-9a-fA-F]{2}){0,8}", 1 => "#1([0-9A-F]{2}){0,64}", 1 => "R"];
    let end = prop_oneof![8 => Just(""), 1 => Just(" R"), 1 => Just(" T"), 2 => Just("\r"), 1 => Just(" R\r")];
    let usual = (usual, data, end).prop_map(|((second, micros, bus, id), data, end)| {
        format!("({second:010}.{micros:06}) {bus} {id}#{data}{end}")
    });
    let broken = (usual.clone(), 0..60usize, any::<u8>()).prop_map(|(mut line, place, byte)| {
        if line.is_char_boundary(place) && place < line.len() && byte.is_ascii() {
            line.replace_range(place..=place, &char::from(byte).to_string());
        }
        line
    });
    let columns = "\\(1700000000\\.[0-9]{6}\\)  can0  [0-7][0-9A-F]{2}   \\[2\\]  [0-9A-F]{2} [0-9A-F]{2}";
    let other = prop_oneof![
        Just(String::new()),
        Just("# a comment".to_owned()),
        Just("x".repeat(5000)),
        columns,
        "[ -~]{0,20}",
        "[0-7][0-9A-F]{2}#[0-9A-F]{4}",
    ];
    prop_oneof![8 => usual, 2 => broken, 1 => other]
}

/// A log of such lines; each may come several times, as it is with most lines that their length is that of the one before.
fn log() -> impl Strategy<Value = Vec<u8>> {
    let lines = prop::collection::vec((line(), 1..4usize), 1..40);
    (lines, any::<bool>()).prop_map(|(lines, ends)| {
        let lines: Vec<String> = lines.into_iter().flat_map(|(line, times)| vec![line; times]).collect();
        let mut text = lines.join("\n");
        if ends {
            text.push('\n');
        }
        text.into_bytes()
    })
}

proptest! {
    #[test]
    fn a_log_says_the_same_however_it_is_read(
        text in log(),
        sizes in prop_oneof![prop::collection::vec(1..100usize, 1..8), Just(vec![1]), Just(vec![1 << 20])],
    ) {
        // A zero byte is no text.
        prop_assume!(!text.contains(&0));
        let whole = on_one_thread(text.as_slice());
        prop_assert_eq!(&on_one_thread(InPieces::new(&text, &sizes)), &whole);
        prop_assert_eq!(&on_two_threads(InPieces::new(&text, &sizes)), &whole);
        prop_assert_eq!(&on_two_threads(text.as_slice()), &whole);
        let (frames, problems) = line_by_line(&text);
        let given = |is_frame: bool| {
            let not_frame = |item: &&String| item.starts_with("Problem") || item.starts_with("Bus");
            whole.0.iter().filter(move |item| not_frame(item) != is_frame)
        };
        prop_assert_eq!(given(true).collect::<Vec<_>>(), frames.iter().collect::<Vec<_>>());
        prop_assert_eq!(given(false).filter(|item| item.starts_with("Problem")).count(), problems);
    }
}

#[test]
fn long_logs_fill_many_parcels() {
    let mut text = String::new();
    for number in 0..100_000u64 {
        let (second, micros) = (1_700_000_000 + number / 4000, number % 4000 * 250);
        match number % 9973 {
            7 => text.push_str("(1700000000.000000) can0 123#123\n"),
            8 => text.push_str(&format!("({second}.{micros:06}) can1 7E8##0{}\n", "AB".repeat(12))),
            _ => text.push_str(&format!("({second}.{micros:06}) can0 {:03X}#{number:016X}\n", number % 0x800)),
        }
    }
    let alone = on_one_thread(text.as_bytes());
    assert_eq!(on_two_threads(text.as_bytes()), alone);
    assert_eq!(on_two_threads(InPieces::new(text.as_bytes(), &[30_000, 7, 200_000])), alone);
    assert_eq!(alone.0.len(), 100_000 + 2);
}

#[test]
fn captures_are_read_ahead_too() {
    for name in ["frames.log.gz", "frames.log.zst", "frames.pcap", "frames.pcapng", "frames-swapped.pcap", "doip.pcap"]
    {
        let bytes = std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap();
        let alone = on_one_thread(bytes.as_slice());
        assert!(!alone.0.is_empty());
        assert_eq!(on_two_threads(InPieces::new(&bytes, &[1000, 3])), alone, "{name}");
        let cut = &bytes[..bytes.len() * 2 / 3];
        assert_eq!(on_two_threads(cut), on_one_thread(cut), "{name}");
    }
}

#[test]
fn what_cannot_be_read_is_told_after_what_could() {
    struct Gone;
    impl Read for Gone {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::Error::other("the disk is gone"))
        }
    }
    let text = b"(1700000000.000000) can0 123#1234\n".repeat(500);
    let mut frames = 0;
    let error = read_log_ahead(text.chain(Gone), &SkipIds::default(), |item| {
        frames += u32::from(matches!(item, LogItem::Frame(_)));
    });
    assert_eq!(error.unwrap_err().to_string(), "the log could not be read: the disk is gone");
    assert_eq!(frames, 500);
    assert!(read_log_ahead(&b"\x7FELF\0\0"[..], &SkipIds::default(), |_| {}).is_err());
}

/// How a log is read for a listener.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Way {
    /// Every frame is given out.
    InFull,
    /// Frames of ordinary identifiers are only counted.
    PassingOver,
    /// The same with a second thread.
    Ahead,
}

/// Everything that a listener says, and how many frames were only counted.
fn listen(text: &[u8], options: ListenerOptions, way: Way) -> (Vec<String>, String, u64) {
    let (mut heard, mut counted) = (Vec::new(), 0);
    let mut listener = Listener::new(options);
    let ordinary = listener.ordinary();
    let item = |item: LogItem<'_>| {
        if let LogItem::Ordinary(count) = item {
            counted += count;
        }
        listener.item(item, &mut |one, pairs| heard.push(format!("{one:?} {}", pairs.iter().count())));
    };
    let facts = match way {
        Way::InFull => read_log(text, item),
        Way::PassingOver => read_log_passing_over(text, &ordinary, item),
        Way::Ahead => read_log_ahead(text, &ordinary, item),
    };
    let facts = facts_shown(&facts.unwrap());
    let altogether: ListenerSummary =
        listener.finish(&mut |one, pairs| heard.push(format!("{one:?} {}", pairs.iter().count())));
    heard.push(facts);
    (heard, format!("{altogether:?}"), counted)
}

#[test]
fn a_listener_hears_the_same_whether_ordinary_frames_are_given_out_or_counted() {
    let given = ListenerOptions { ordinary: vec![CanId::extended(0x18DA_93EE).unwrap()], ..ListenerOptions::default() };
    for group in ["normal", "fixed", "address-byte", "flexible"] {
        let packed = std::fs::read(format!("{}/tests/data/isotp-{group}.log.gz", env!("CARGO_MANIFEST_DIR"))).unwrap();
        for options in [ListenerOptions::default(), given.clone()] {
            let in_full = listen(&packed, options.clone(), Way::InFull);
            assert_eq!(in_full.2, 0);
            for way in [Way::PassingOver, Way::Ahead] {
                let other = listen(&packed, options.clone(), way);
                assert_eq!((&other.0, &other.1), (&in_full.0, &in_full.1), "{group} {way:?}");
                // A group without ordinary traffic has nothing to count, and the other thread may learn of it late.
                assert!(other.2 > 1000 || group == "flexible" || way == Way::Ahead, "{group}: {}", other.2);
            }
        }
    }
}

/// Where an identifier is passed over, its lines are looked at by a shorter way: one that is wrong in any place, or different, says what it
/// says by the longer one.
#[test]
fn every_place_of_a_line_that_is_passed_over_is_looked_at() {
    for line in [
        "(1700000000.250000) can0 2A5#F0123456789ABCDE",
        "(1700000000.250000) behind-a-gateway 2A5#F0123456789ABCDE",
        "(1700000000.250000) can0 2A5#F0123456789ABCDE R",
        "(1700000000.250000) can0 18FEF1A5#F0123456789ABCDE",
    ] {
        // With a digit that is none, its identifier would be this other one if nobody looked.
        let settled = format!("{line}\n{}\n", line.replace("2A5#", "2FF#")).repeat(20);
        for place in 0..line.len() {
            for byte in *b"059:/AFG@afg`#() .\rRT+-" {
                let mut altered = line.as_bytes().to_vec();
                altered[place] = byte;
                // Once in the middle and once as the last line, which has no end.
                let text = [settled.as_bytes(), &altered, b"\n", line.as_bytes(), b"\n", &altered].concat();
                let in_full = listen(&text, ListenerOptions::default(), Way::InFull);
                let passing = listen(&text, ListenerOptions::default(), Way::PassingOver);
                assert!(passing.2 >= 15, "{line}: {}", passing.2);
                assert_eq!((&passing.0, &passing.1), (&in_full.0, &in_full.1), "{}", String::from_utf8_lossy(&altered));
            }
        }
    }
}

proptest! {
    #[test]
    fn a_listener_hears_the_same_of_any_log(text in log()) {
        prop_assume!(!text.contains(&0));
        // Often enough that what is ordinary is settled.
        let text = text.repeat(20);
        let in_full = listen(&text, ListenerOptions::default(), Way::InFull);
        for way in [Way::PassingOver, Way::Ahead] {
            let other = listen(&text, ListenerOptions::default(), way);
            prop_assert_eq!((&other.0, &other.1), (&in_full.0, &in_full.1));
        }
    }
}
