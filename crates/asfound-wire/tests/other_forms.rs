//! Forms that are named and not read, rarer link types, and text as redirects leave it. `tests/oracles/wire_other_forms.py`
//! wrote the files with python-can 4.6.1, asammdf 8.8 and Wireshark 4.0.17.

use asfound_wire::frame::CanFrame;
use asfound_wire::ip::IpKind;
use asfound_wire::log::{LogClock, LogError, LogFacts, LogItem, OtherForm, ProblemKind, read_log};

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).expect("the recorded data is whole")
}

fn read(bytes: &[u8]) -> Result<(Vec<CanFrame>, LogFacts), LogError> {
    let mut frames = Vec::new();
    let facts = read_log(bytes, |item| {
        if let LogItem::Frame(frame) = item {
            frames.push(frame.clone());
        }
    })?;
    Ok((frames, facts))
}

fn shown(frames: &[CanFrame]) -> Vec<String> {
    frames
        .iter()
        .map(|frame| {
            let moment = frame.moment.map_or_else(String::new, |moment| moment.to_string());
            format!("{moment} {} {:?} {:02X?}", frame.id, frame.kind, frame.data())
        })
        .collect()
}

#[test]
fn what_is_not_read_is_named() {
    for (name, form) in [
        ("other.asc", OtherForm::Asc),
        ("other.blf", OtherForm::Blf),
        ("other.trc", OtherForm::Trc),
        ("other.csv", OtherForm::FrameTable),
        ("other.db", OtherForm::Database),
        ("other.mf4", OtherForm::Mdf4),
    ] {
        let error = read(&data(name)).expect_err(name);
        assert!(matches!(error, LogError::Other(found) if found == form), "{name}: {error}");
    }
    // The oldest TRC has no version in its head; common practice, no source.
    let oldest = ";  Message Number\n;  |  Time Offset (ms)\n    1)      2.0  0123  8  01 02 03 04 05 06 07 08\n";
    assert!(matches!(read(oldest.as_bytes()), Err(LogError::Other(OtherForm::Trc))));
    let table = "time;id;data\n0,1;7E0;02 10 03\n0,2;7E8;02 50 03\n";
    assert!(matches!(read(table.as_bytes()), Err(LogError::Other(OtherForm::Table))));
    assert!(matches!(read(b"PK\x03\x04rest"), Err(LogError::Other(OtherForm::Zip))));
    assert!(matches!(read(b"MDF     3.30    "), Err(LogError::Other(OtherForm::Mdf3))));
}

#[test]
fn an_empty_log_is_empty() {
    for nothing in ["", "\n", " \r\n\r\n", "\u{FEFF}"] {
        assert!(matches!(read(nothing.as_bytes()), Err(LogError::Empty)), "{nothing:?}");
    }
}

#[test]
fn a_log_with_strange_lines_around_its_frames_is_read() {
    let text = "a,b,c\nd,e,f\nbase hex\n;$FILEVERSION=2.1\n(1700000000.100000) can0 7E0#021003\n";
    let (frames, facts) = read(text.as_bytes()).expect("one line is a frame");
    assert_eq!(frames.len(), 1);
    assert_eq!(facts.problems.values().sum::<u64>(), 3);
}

#[test]
fn a_capture_of_exported_data_has_the_same_frames() {
    let (expected, _) = read(&data("frames.log")).expect("the recorded data is whole");
    let (frames, facts) = read(&data("frames-exported.pcapng")).expect("link type 252 is read");
    assert!(facts.problems.is_empty(), "{:?}", facts.problems);
    assert_eq!(shown(&frames), shown(&expected));
}

#[test]
fn loopback_captures_have_the_diagnostics_that_tshark_reads() {
    for name in ["doip-loopback.pcap", "doip-loopback-network.pcap"] {
        let mut diagnostic = 0;
        let _ = read_log(&data(name)[..], |item| {
            if let LogItem::Ip(message) = item {
                diagnostic += usize::from(matches!(message.kind, IpKind::Diagnostic { .. }));
            }
        })
        .expect("link types 0 and 108 are read");
        assert_eq!(diagnostic, 70, "{name}");
    }
}

#[test]
fn text_of_sixteen_bits_with_marks_and_carriage_returns_is_the_same() {
    let text = String::from_utf8(data("frames.log")).expect("the recorded data is text");
    let (expected, facts) = read(text.as_bytes()).expect("the recorded data is whole");
    assert_eq!(facts.clock, LogClock::Date);
    let dos = text.replace('\n', "\r\n");
    let marked: Vec<u8> = [&[0xEF, 0xBB, 0xBF], dos.as_bytes()].concat();
    let wide: Vec<u8> = [0xFEFF].into_iter().chain(dos.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let commas = text.replace('.', ",");
    for bytes in [dos.as_bytes(), &marked, &wide, commas.as_bytes()] {
        let (frames, facts) = read(bytes).expect("it is the same log");
        assert!(facts.problems.is_empty(), "{:?}", facts.problems);
        assert_eq!(shown(&frames), shown(&expected));
    }
}

/// The log with other times: seconds with six decimals, as `candump -tz` and `candump -td` of can-utils write them.
fn with_times(text: &str, time: &mut dyn FnMut(u64) -> u64) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let (moment, rest) = line[1..].split_once(") ").expect("the line has a time");
        let (seconds, micros) = moment.split_once('.').expect("the time has decimals");
        let micros = seconds.parse::<u64>().expect("seconds") * 1_000_000 + micros.parse::<u64>().expect("micros");
        let micros = time(micros);
        out += &format!("({:03}.{:06}) {rest}\n", micros / 1_000_000, micros % 1_000_000);
    }
    out
}

#[test]
fn differences_are_added_up_and_tell_no_date() {
    let text = String::from_utf8(data("frames.log")).expect("the recorded data is text");
    // Of the conversations, whose times only rise.
    let text = text.lines().take(60).collect::<Vec<_>>().join("\n");
    let mut first = None;
    let counted = with_times(&text, &mut |now| now - *first.get_or_insert(now));
    let (expected, facts) = read(counted.as_bytes()).expect("it is a log");
    assert_eq!(facts.clock, LogClock::Beginning);
    assert_eq!(facts.first.map(|first| first.nanoseconds()), Some(0));
    let mut before = None;
    let differences = with_times(&text, &mut |now| now - before.replace(now).unwrap_or(now));
    let (frames, facts) = read(differences.as_bytes()).expect("it is a log");
    assert_eq!(facts.clock, LogClock::LineBefore);
    assert_eq!(shown(&frames), shown(&expected));
    let without: Vec<&str> = text.lines().map(|line| line.split_once(") ").expect("a time").1).collect();
    let without = without.join("\n");
    assert_eq!(read(without.as_bytes()).expect("it is a log").1.clock, LogClock::None);
}

#[test]
fn a_clock_that_goes_back_once_still_counts_on() {
    let mut text = String::new();
    for _ in 0..2 {
        for at in 0..20 {
            text += &format!("(000.{at:03}000) can0 100#01\n");
        }
    }
    assert_eq!(read(text.as_bytes()).expect("it is a log").1.clock, LogClock::Beginning);
}

#[test]
fn a_clock_whose_lines_stand_a_little_out_of_order_still_counts_on() {
    // Two buses in one log, of which one is written later than the other.
    let mut text = String::new();
    for at in 0..40_u32 {
        let late = if at.is_multiple_of(2) { 1500 } else { 0 };
        text += &format!("(000.{:06}) can{} 100#01\n", at * 1000 + late, at % 2);
    }
    assert_eq!(read(text.as_bytes()).expect("it is a log").1.clock, LogClock::Beginning);
}

#[test]
fn differences_of_frames_at_a_steady_rate_are_differences() {
    let mut text = String::from("(000.000000) can0 100#01\n");
    for at in 0..30 {
        text += if at % 6 == 5 { "(001.000000) can0 100#01\n" } else { "(000.001500) can0 100#01\n" };
    }
    let (frames, facts) = read(text.as_bytes()).expect("it is a log");
    assert_eq!(facts.clock, LogClock::LineBefore);
    let last = frames.last().and_then(|frame| frame.moment).map(|moment| moment.to_string());
    assert_eq!(last.as_deref(), Some("5.037500"));
}

#[test]
fn an_encrypted_connection_is_named_once() {
    // The packets of a capture, with the port of ISO 13400-2 for encrypted connections instead.
    let mut bytes = data("doip-loopback.pcap");
    let (plain, encrypted) = (13400_u16.to_be_bytes(), 3496_u16.to_be_bytes());
    let mut at = 0;
    while at + 2 <= bytes.len() {
        if bytes[at..at + 2] == plain {
            bytes[at..at + 2].copy_from_slice(&encrypted);
            at += 1;
        }
        at += 1;
    }
    let (frames, facts) = read(&bytes).expect("it is a capture");
    assert!(frames.is_empty() && facts.ip_messages == 0);
    let count = facts.problems.get(&ProblemKind::Encrypted).copied().unwrap_or(0);
    assert!((1..=4).contains(&count), "{:?}", facts.problems);
}
