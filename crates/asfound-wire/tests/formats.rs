//! The same frames in every form of log, made by other programs (`tests/oracles/wire_formats.sh`), and what tshark 4.0.17 says of
//! them.
#![allow(
    clippy::unwrap_used,
    clippy::format_collect,
    clippy::naive_bytecount,
    reason = "a test stops where something is missing"
)]

use asfound_wire::frame::{CanFrame, Direction, FrameKind};
use asfound_wire::log::{LogError, LogFacts, LogForm, LogItem, LogPlace, ProblemKind, read_log};

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn read(bytes: &[u8]) -> (Vec<CanFrame>, LogFacts) {
    let mut frames = Vec::new();
    let facts = read_log(bytes, |item| match item {
        LogItem::Frame(frame) => frames.push(frame.clone()),
        LogItem::Ip(message) => panic!("{message:?}"),
        LogItem::Problem(_) | LogItem::Bus(..) | LogItem::Ordinary(_) => {}
    })
    .unwrap();
    assert_eq!(facts.frames, frames.len() as u64);
    (frames, facts)
}

/// A frame as text, without bus and direction, which not every form keeps.
fn shown(frame: &CanFrame) -> String {
    let bytes: String = frame.data().iter().map(|byte| format!("{byte:02x}")).collect();
    let kind = match frame.kind {
        FrameKind::Remote => "remote",
        FrameKind::Error => "error",
        FrameKind::Classic => "classic",
        FrameKind::Flexible => "flexible",
    };
    format!("{} {} {kind} {bytes}", frame.moment.map_or_else(String::new, |m| m.to_string()), frame.id)
}

fn all_shown(name: &str) -> Vec<String> {
    let (frames, facts) = read(&data(name));
    assert!(facts.problems.is_empty(), "{name}: {:?}", facts.problems);
    frames.iter().map(shown).collect()
}

#[test]
fn every_form_gives_the_same_frames() {
    let expected = all_shown("frames.log");
    assert_eq!(expected.len(), 123);
    for name in [
        "frames-columns.log",
        "frames.log.gz",
        "frames.log.zst",
        "frames.pcap",
        "frames-nanoseconds.pcap",
        "frames.pcapng",
        "frames-cooked.pcap",
        "frames-cooked-2.pcap",
        "frames-swapped.pcap",
    ] {
        assert_eq!(all_shown(name), expected, "{name}");
    }
    assert!(read(&data("frames-swapped.pcap")).1.swapped_identifiers);
    assert!(!read(&data("frames.pcap")).1.swapped_identifiers);
    assert_eq!(read(&data("frames.pcapng")).1.form, LogForm::Pcapng);
}

#[test]
fn tshark_says_the_same_of_each_frame() {
    let said = String::from_utf8(data("frames.tshark.csv")).unwrap();
    let (frames, _) = read(&data("frames.log"));
    assert_eq!(said.lines().count(), frames.len());
    for (line, frame) in said.lines().zip(&frames) {
        let flag = |is: bool| if is { "1" } else { "0" };
        let bytes: String = frame.data().iter().map(|byte| format!("{byte:02x}")).collect();
        let moment = frame.moment.unwrap().nanoseconds();
        // With flexible data rate there are no remote frames, and tshark shows no flags for them and for errors.
        // With flexible data rate there are no remote frames, and tshark shows no flags for them and for errors.
        let classic = |is: bool| if frame.kind == FrameKind::Flexible { "" } else { flag(is) };
        // Of an error frame it shows neither identifier nor data: they are codes.
        if frame.kind == FrameKind::Error {
            assert!(line.ends_with(",,,,1,8,"), "{line}");
            continue;
        }
        let expected = format!(
            "{}.{:09},{},{},{},{},{},{bytes}",
            moment / 1_000_000_000,
            moment % 1_000_000_000,
            frame.id.number(),
            flag(frame.id.is_extended()),
            classic(frame.kind == FrameKind::Remote),
            classic(frame.kind == FrameKind::Error),
            frame.data().len(),
        );
        assert_eq!(line, expected);
    }
}

#[test]
fn what_may_be_missing_in_text_may_be_missing() {
    let text = "# a comment\n\n; another\n7E0#021003\n can0  7E8   [3]  02 50 03\n7E8   [2]  AA BB\r\n\
                (12.5) can1 7E0##1DEADBEEF T\n(2023-11-14 22:13:20.5)  can0  RX - -  123   [2]  11 22\n\
                can0  TX B E  18DAF110  [02]  01 02\n7E0#02.10.03\n123#R8\n123#112233_9\n";
    let (frames, facts) = read(text.as_bytes());
    assert!(facts.problems.is_empty(), "{:?}", facts.problems);
    let lines: Vec<String> = frames.iter().map(shown).collect();
    assert_eq!(
        lines,
        [
            " 7E0 classic 021003",
            " 7E8 classic 025003",
            " 7E8 classic aabb",
            "12.500000 7E0 flexible deadbeef",
            "1700000000.500000 123 classic 1122",
            " 18DAF110 flexible 0102",
            " 7E0 classic 021003",
            " 123 remote ",
            " 123 classic 112233",
        ]
    );
    assert_eq!(facts.interfaces.name(frames[1].interface), "can0");
    assert_eq!(facts.interfaces.name(frames[3].interface), "can1");
    assert_eq!(facts.interfaces.name(frames[0].interface), "");
    let directions: Vec<_> = frames.iter().map(|frame| frame.direction).collect();
    let (sent, received) = (Some(Direction::Sent), Some(Direction::Received));
    assert_eq!(directions, [None, None, None, sent, received, sent, None, None, None]);
}

#[test]
fn what_cannot_be_read_is_told_with_its_line() {
    let wrong = [
        "(17000x0000.123456) can0 7E0#02",
        "(1 can0 7E0#02",
        "can0 7E0#0",
        "can0 7E0#0G",
        "can0 800#02",
        "can0 FFFFFFFF#02",
        "can0 7E0#112233445566778899",
        "can0 7E0###02",
        "can0 7E0 [8] 01 02",
        "can0 7E0 [1] 01 02",
        "can0 7E0 [9] 01 02 03 04 05 06 07 08 09",
        "hello",
        "hello world",
        "can0 7E0#02 X",
    ];
    let text: String = wrong.iter().map(|line| format!("{line}\n")).collect();
    let mut places = Vec::new();
    read_log(text.as_bytes(), |item| match item {
        LogItem::Problem(problem) => places.push(problem.place),
        other => panic!("{other:?}"),
    })
    .unwrap();
    assert_eq!(places, (1..=wrong.len() as u64).map(LogPlace::Line).collect::<Vec<_>>());
}

#[test]
fn what_is_no_log_is_refused() {
    assert!(matches!(read_log(&[0x7F, b'E', b'L', b'F', 0, 0][..], |_| {}), Err(LogError::Form)));
}

#[test]
fn a_line_without_end_costs_no_memory_and_the_rest_is_read() {
    let mut text = vec![b'x'; 3_000_000];
    text.extend_from_slice(b"\ncan0 7E0#01\n");
    let (frames, facts) = read(&text);
    assert_eq!(frames.len(), 1);
    assert_eq!(facts.problems.values().sum::<u64>(), 1);
}

/// Everything that was complete before the cut, and nothing else.
#[test]
fn a_text_log_cut_at_every_byte_gives_what_was_complete_before() {
    for name in ["frames.log", "frames-columns.log"] {
        let whole = data(name);
        let all = all_shown(name);
        for cut in 1..whole.len() {
            let given: Vec<String> = read(&whole[..cut]).0.iter().map(shown).collect();
            // The last line may have lost its end, and cannot tell; all before must be there.
            let complete = whole[..cut].iter().filter(|byte| **byte == b'\n').count();
            assert!((complete..=complete + 1).contains(&given.len()), "{name} at {cut}");
            assert_eq!(given[..complete], all[..complete], "{name} at {cut}");
        }
    }
}

#[test]
fn a_capture_cut_at_every_byte_gives_what_was_complete_before() {
    // Where packets end, by the lengths that the formats write before them.
    let (pcap, pcapng) = (data("frames.pcap"), data("frames.pcapng"));
    let length = |bytes: &[u8], at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    let mut ends = vec![24];
    while *ends.last().unwrap() < pcap.len() {
        let at = *ends.last().unwrap();
        ends.push(at + 16 + length(&pcap, at + 8));
    }
    let mut blocks = vec![0];
    while *blocks.last().unwrap() < pcapng.len() {
        let at = *blocks.last().unwrap();
        blocks.push(at + length(&pcapng, at + 4));
    }
    let packets = blocks.windows(2).filter(|block| pcapng[block[0]] == 6).map(|block| block[1]);
    let packets: Vec<usize> = packets.collect();
    for (name, bytes, ends, borders) in
        [("frames.pcap", &pcap, &ends[1..], &ends), ("frames.pcapng", &pcapng, &packets[..], &blocks)]
    {
        let all = all_shown(name);
        assert_eq!(ends.len(), all.len());
        for cut in 4..bytes.len() {
            let (frames, facts) = read(&bytes[..cut]);
            let given: Vec<String> = frames.iter().map(shown).collect();
            let complete = ends.iter().filter(|end| **end <= cut).count();
            assert_eq!(given, all[..complete], "{name} at {cut}");
            let told = facts.problems.contains_key(&ProblemKind::Cut);
            assert_eq!(told, !borders.contains(&cut), "{name} at {cut}: {:?}", facts.problems);
        }
    }
}

#[test]
fn a_compressed_log_that_breaks_off_gives_what_came_before() {
    let all = all_shown("frames.log");
    for name in ["frames.log.gz", "frames.log.zst"] {
        let whole = data(name);
        for cut in (4..whole.len()).step_by(37) {
            let (frames, facts) = read(&whole[..cut]);
            let given: Vec<String> = frames.iter().map(shown).collect();
            let same = given.iter().zip(&all).take_while(|(given, all)| given == all).count();
            // Only the last line can have lost its end.
            assert!(same + 1 >= given.len(), "{name} at {cut}");
            assert!(facts.problems.contains_key(&ProblemKind::Cut), "{name} at {cut}");
        }
    }
    // zstd decodes a block at a time, and so short a file is one block; gzip gives each byte as it comes.
    let gzip = data("frames.log.gz");
    assert_eq!(read(&gzip[..gzip.len() - 8]).0.len(), all.len());
}
