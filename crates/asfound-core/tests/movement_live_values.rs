//! Values that a car measures: counters, noisy sensors, slow drifts, a clock. They accuse nobody; settings beside them still do.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::difference::{ComparisonVerdict, compare};
use asfound_core::entry::{Body, BusLogBody, FiledLog, LogDigest, ReadingRole, WireAnswer, WireMovement, WireWrite};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::{Doubt, Field, HandKind, Origin};
use asfound_core::moment::{Precision, StatedTime};
use asfound_core::movement::MovementEvidence;
use asfound_core::names::{EntryNumber, RecordName};
use asfound_core::reading::Reading;
use asfound_core::state::State;
use asfound_core::value::HexBytes;
use support::*;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

const START: OffsetDateTime = datetime!(2026-03-14 09:00 UTC);

/// An engine with 143 records: 95 that stay, and 48 that are measured.
struct Engine {
    noise: u32,
}

impl Engine {
    const RECORDS: u16 = 143;
    const LIVE: u16 = 48;

    /// What a record holds, so many seconds after the start; two readings need not see the same noise.
    fn record(&mut self, record: u16, seconds: u32) -> Vec<u8> {
        if record >= Self::LIVE {
            return vec![u8::try_from(record).unwrap(), 0x5A, u8::try_from(record % 7).unwrap()];
        }
        match record % 4 {
            // A counter of events, most significant byte first, three of them in a second.
            0 => (0x00FF_0000 + 3 * seconds + u32::from(record)).to_be_bytes().to_vec(),
            // A sensor: twelve bits about a mean, with noise in the lowest ones.
            1 => {
                self.noise = self.noise.wrapping_mul(0x0001_9660).wrapping_add(0x3C6E_F35F).rotate_left(5);
                let sample = 0x07F8 + (self.noise >> 9) % 23;
                u16::try_from(sample).unwrap().to_be_bytes().to_vec()
            }
            // A temperature that rises by one in four minutes.
            2 => vec![0x62 + u8::try_from((seconds + 20 * u32::from(record)) / 240).unwrap(), 0x00],
            // A clock: hours, minutes and seconds in packed decimal digits.
            _ => {
                let digits = |value: u32| u8::try_from(value / 10 * 16 + value % 10).unwrap();
                vec![digits(9 + seconds / 3600), digits(seconds / 60 % 60), digits(seconds % 60)]
            }
        }
    }
}

fn name(record: u16) -> RecordName {
    RecordName::Identifier(0x2000 + record)
}

fn at(seconds: u32) -> OffsetDateTime {
    START + Duration::seconds(i64::from(seconds))
}

/// Gives the last entry its moment, filed at once.
fn happened(journal: &mut Journal, at: OffsetDateTime) {
    let entry = journal.entries.last_mut().unwrap();
    (entry.happened, entry.recorded, entry.precision) = (at, at, Precision::Second);
}

fn read_as(journal: &mut Journal, role: ReadingRole, at: OffsetDateTime, said: Said) -> EntryNumber {
    file_reading(journal, role, StatedTime::from(at), at + Duration::seconds(20), said)
}

/// Files a reading that was taken then, at that moment.
fn file_reading(
    journal: &mut Journal,
    role: ReadingRole,
    taken: StatedTime,
    recorded: OffsetDateTime,
    said: Said,
) -> EntryNumber {
    let reading = Reading { taken: Some(taken), ..said.reading };
    let terms = ReadingTerms { role, partial: true, recorded };
    let examined = examine(&reading, &journal.state(), &journal.definitions, terms).unwrap();
    let number = journal.file(Body::Reading(examined.body));
    let entry = journal.entries.last_mut().unwrap();
    (entry.happened, entry.precision, entry.recorded) = (taken.at, taken.precision, recorded);
    number
}

fn read(journal: &mut Journal, at: OffsetDateTime, said: Said) -> EntryNumber {
    read_as(journal, ReadingRole::Check, at, said)
}

fn witness(journal: &mut Journal, at: OffsetDateTime, writes: Vec<WireWrite>, moved: Vec<WireMovement>) {
    let digest = format!("{:064x}", journal.entries.len());
    let log = FiledLog {
        name: format!("{}.log", journal.entries.len()),
        sha256: LogDigest::try_from(digest).unwrap(),
        bytes: 1,
        first: None,
        last: None,
    };
    journal.file(Body::Witness(BusLogBody { logs: vec![log], writes, moved, ..BusLogBody::default() }));
    happened(journal, at);
}

/// Files half of a log in which every record is asked for in turn, twenty a second.
fn file_half(journal: &mut Journal, engine: &mut Engine, from: u32, until: u32) {
    let mut seen: Vec<Vec<(u32, Vec<u8>)>> = vec![Vec::new(); usize::from(Engine::RECORDS)];
    for turn in from * 20..until * 20 {
        let record = u16::try_from(turn % u32::from(Engine::RECORDS)).unwrap();
        let bytes = engine.record(record, turn / 20);
        seen[usize::from(record)].push((turn / 20, bytes));
    }
    let mut said = reading().module("engine").part_number("KX-2200").software("0300");
    let mut moved = Vec::new();
    for (record, seen) in (0..).zip(&seen) {
        let record = name(record);
        said = said.record(&record.to_string(), &shown(&seen.last().unwrap().1));
        let (mut bits, mut times) = (vec![0; seen[0].1.len()], 0);
        for pair in seen.windows(2).filter(|pair| pair[0].1 != pair[1].1) {
            times += 1;
            for (bit, (a, b)) in bits.iter_mut().zip(pair[0].1.iter().zip(&pair[1].1)) {
                *bit |= a ^ b;
            }
        }
        if times > 0 {
            let (from, until) = (Some(at(seen[0].0)), Some(at(seen[seen.len() - 1].0)));
            let module = "engine".parse().unwrap();
            moved.push(WireMovement { module, record, bits: HexBytes::from(bits), times, from, until });
        }
    }
    read(journal, at(until), said);
    witness(journal, at(until), Vec::new(), moved);
}

fn accused(journal: &Journal) -> Vec<String> {
    let history = journal.history();
    let steps = history
        .timelines()
        .iter()
        .flat_map(|(field, timeline)| timeline.transitions().iter().map(move |step| (field, step.origin)));
    let accuses = |origin: &Origin| matches!(origin, Origin::AnotherHand(_) | Origin::Contradicts(_));
    steps.filter(|(_, origin)| accuses(origin)).map(|(field, origin)| format!("{field}: {origin:?}")).collect()
}

/// The state as it was after an entry.
fn state(journal: &Journal, entry: u32) -> State {
    State::fold(&journal.entries[..usize::try_from(entry).unwrap()]).unwrap()
}

#[test]
fn a_log_of_live_values_cut_in_two_accuses_nobody() {
    let mut journal = Journal::new([]);
    let mut engine = Engine { noise: 17 };
    file_half(&mut journal, &mut engine, 0, 400);
    file_half(&mut journal, &mut engine, 401, 800);
    assert_eq!(accused(&journal), Vec::<String>::new());
    let history = journal.history();
    assert_eq!(life_of(&journal), [], "what moves by itself has no life of its own");
    assert_eq!(history.movements().iter().count(), usize::from(Engine::LIVE));
    // Most were seen to move in the log; of a counter's high byte nothing is known that was not seen.
    let counter = history.movements().of(
        &"engine".parse().unwrap(),
        &name(0),
        &state(&journal, 2).identity(&"engine".parse().unwrap()),
    );
    assert!(matches!(counter[0].evidence, MovementEvidence::Log(entry) if entry.get() == 3) && counter[0].times > 50);
    assert_eq!(counter[0].bits.byte(0), 0);

    let (before, after) = (state(&journal, 3), state(&journal, 5));
    let comparison = compare(&before, &after, &journal.definitions, &journal.definitions, history.movements());
    assert!(comparison.is_same());
    let records = &comparison.modules[0].records;
    let verdicts = records.iter().filter(|record| record.verdict == ComparisonVerdict::Same).count();
    assert_eq!(verdicts, usize::from(Engine::RECORDS));
    // It absolves nobody: what was left out is counted.
    let left_out = records.iter().filter(|record| !record.moving.is_empty()).count();
    assert_eq!(left_out, usize::from(Engine::LIVE));
}

#[test]
fn weeks_later_what_was_never_seen_to_move_cannot_be_told() {
    let mut journal = Journal::new([]);
    let mut engine = Engine { noise: 17 };
    // Twelve seconds: time for each record to be asked for once or twice.
    file_half(&mut journal, &mut engine, 0, 12);
    let mut said = reading().module("engine");
    for record in 0..Engine::RECORDS {
        said = said.record(&name(record).to_string(), &shown(&engine.record(record, 9_000)));
    }
    let later = read(&mut journal, START + Duration::days(30), said);
    assert_eq!(accused(&journal), Vec::<String>::new());
    let history = journal.history();
    let told: Vec<_> = history.transitions_of(later).map(|(_, step)| step.origin).collect();
    assert!(!told.is_empty());
    assert!(told.iter().all(|origin| *origin == Origin::CannotTell(Doubt::SettingOrMeasured)), "{told:?}");
}

fn life_of(journal: &Journal) -> Vec<(String, u32, Origin)> {
    let history = journal.history();
    let mut life = Vec::new();
    for (field, timeline) in history.timelines() {
        let Field::Undeclared { mask, .. } = field else { continue };
        life.extend(timeline.transitions().iter().map(|step| (mask.to_string(), step.entry.get(), step.origin)));
    }
    life
}

fn body(bytes: &str) -> Said {
    reading().module("body").part_number("NB-10").software("0100").record("2001", bytes)
}

const UNCLEAR: Origin = Origin::CannotTell(Doubt::SettingOrMeasured);

#[test]
fn two_readings_of_one_sitting_show_what_moves() {
    let mut journal = Journal::new([]);
    read(&mut journal, at(0), body("10 00 05"));
    read(&mut journal, at(600), body("10 00 07"));
    // What moved is left out weeks later too; the other byte is not.
    read(&mut journal, START + Duration::days(20), body("10 40 05"));
    assert_eq!(life_of(&journal), [("byte 1 bit 6".to_owned(), 4, UNCLEAR)]);
    let history = journal.history();
    let all: Vec<_> = history.movements().iter().collect();
    let [(module, record, _, [movement])] = all[..] else { panic!("{all:?}") };
    assert_eq!((module.as_str(), record.to_string().as_str()), ("body", "2001"));
    assert_eq!(movement.evidence, MovementEvidence::Readings(number(2), number(3)));
    assert_eq!((movement.bits.to_string().as_str(), movement.times), ("byte 2 bit 1", 1));
    assert_eq!((movement.from, movement.until), (at(0), at(600)));
}

#[test]
fn what_is_filed_late_is_evidence_by_its_moment() {
    let mut journal = Journal::new([]);
    read(&mut journal, at(0), body("10 00 05"));
    read(&mut journal, START + Duration::days(20), body("10 00 0D"));
    assert_eq!(life_of(&journal), [("byte 2 bit 3".to_owned(), 3, UNCLEAR)]);
    // A day later somebody finds a second reading of the first sitting.
    let late = StatedTime::from(at(900));
    file_reading(&mut journal, ReadingRole::Check, late, START + Duration::days(21), body("10 00 0D"));
    let history = journal.history();
    let evidence: Vec<MovementEvidence> =
        history.movements().iter().flat_map(|(_, _, _, all)| all.iter().map(|movement| movement.evidence)).collect();
    assert_eq!(evidence, [MovementEvidence::Readings(number(2), number(4))]);
    assert_eq!(life_of(&journal), []);
}

#[test]
fn what_lies_between_two_sittings_is_no_evidence() {
    type Case = (&'static str, fn(&mut Journal));
    let cases: [Case; 6] = [
        ("another day", |journal| {
            read(journal, START + Duration::days(1), body("10 00 07"));
        }),
        ("hours later", |journal| {
            read(journal, at(5 * 3600), body("10 00 07"));
        }),
        ("a reading as left stands behind work", |journal| {
            read_as(journal, ReadingRole::AsLeft, at(600), body("10 00 07"));
        }),
        ("work on something else", |journal| {
            journal.change_record("body", "2002", "01 01");
            happened(journal, at(300));
            read(journal, at(600), body("10 00 07"));
        }),
        ("another unit", |journal| {
            read(journal, at(600), body("10 00 07").serial("S-2"));
        }),
        ("a day alone is no sitting", |journal| {
            let day = StatedTime { at: at(600), precision: Precision::Day };
            file_reading(journal, ReadingRole::Check, day, START + Duration::days(2), body("10 00 07"));
        }),
    ];
    for (what, then) in cases {
        let mut journal = Journal::new([]);
        read(&mut journal, at(0), body("10 00 05").serial("S-1").record("2002", "00 01"));
        then(&mut journal);
        assert_eq!(journal.history().movements().iter().count(), 0, "{what}");
        let life = life_of(&journal);
        assert!(
            life.contains(&("byte 2 bit 1".to_owned(), journal.entries.len().try_into().unwrap(), UNCLEAR)),
            "{what}: {life:?}"
        );
        assert_eq!(accused(&journal), Vec::<String>::new(), "{what}");
    }
}

#[test]
fn a_later_write_ends_it() {
    let mut journal = Journal::new([]);
    read(&mut journal, at(0), body("10 00 05"));
    read(&mut journal, at(600), body("10 00 07"));
    journal.change_record("body", "2001", "10 00 05");
    happened(&mut journal, START + Duration::days(2));
    read(&mut journal, START + Duration::days(3), body("10 00 05"));
    read(&mut journal, START + Duration::days(9), body("10 00 07"));
    let mask = "byte 2 bit 1".to_owned();
    assert_eq!(
        life_of(&journal),
        [(mask.clone(), 4, Origin::Work), (mask, 6, Origin::AnotherHand(HandKind::SettingsAltered))]
    );
}

#[test]
fn a_write_on_the_bus_ends_it_too_and_what_moves_after_that_cannot_be_told() {
    let moved = |from: OffsetDateTime| WireMovement {
        module: "body".parse().unwrap(),
        record: "2001".parse().unwrap(),
        bits: "00 00 02".parse().unwrap(),
        times: 9,
        from: Some(from),
        until: Some(from + Duration::minutes(3)),
    };
    let write = |at: OffsetDateTime| WireWrite {
        at: Some(at),
        found: Some("10 00 05".parse().unwrap()),
        written: Some("10 00 07".parse().unwrap()),
        ..WireWrite::new("body".parse().unwrap(), "2001".parse().unwrap(), WireAnswer::Accepted)
    };
    let day = |days: i64| START + Duration::days(days);
    let mut journal = Journal::new([]);
    read(&mut journal, day(0), body("10 00 05"));
    witness(&mut journal, day(1), Vec::new(), vec![moved(day(1))]);
    read(&mut journal, day(2), body("10 00 07"));
    assert_eq!(life_of(&journal), [], "it moves");
    witness(&mut journal, day(4), vec![write(day(4))], Vec::new());
    read(&mut journal, day(6), body("10 00 05"));
    let mask = || "byte 2 bit 1".to_owned();
    assert_eq!(life_of(&journal), [(mask(), 6, Origin::AnotherHand(HandKind::SettingsAltered))]);
    // It is seen to move although somebody wrote it: neither is certain any more.
    witness(&mut journal, day(7), Vec::new(), vec![moved(day(7))]);
    assert_eq!(life_of(&journal), [(mask(), 6, UNCLEAR)]);
    // A write that the module refused is none.
    let refused = WireWrite { answer: WireAnswer::Refused, ..write(day(8)) };
    witness(&mut journal, day(8), vec![refused], Vec::new());
    read(&mut journal, day(9), body("10 00 07"));
    assert_eq!(life_of(&journal), [(mask(), 6, UNCLEAR), (mask(), 9, UNCLEAR)]);
}

#[test]
fn another_software_may_mean_something_else_by_the_bits() {
    let mut journal = Journal::new([]);
    read(&mut journal, at(0), body("10 00 05"));
    read(&mut journal, at(600), body("10 00 07"));
    read(&mut journal, START + Duration::days(3), body("10 00 05").software("0200"));
    assert_eq!(life_of(&journal), [("byte 2 bit 1".to_owned(), 4, UNCLEAR)]);
    let history = journal.history();
    let state = journal.state();
    let shown =
        compare(&self::state(&journal, 3), &state, &journal.definitions, &journal.definitions, history.movements());
    let record = &shown.modules[0].records[0];
    assert_eq!((record.verdict, record.unclear.to_string().as_str()), (ComparisonVerdict::Changed, "byte 2 bit 1"));
    assert!(record.moving.is_empty());
}

#[test]
fn a_definition_that_names_the_bits_ends_it() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    let said = |bytes: &str| reading().module("body").software("0100").record("0D02", bytes);
    read(&mut journal, at(0), said("03 A0"));
    read(&mut journal, at(600), said("05 A0"));
    let setting = journal.history().timelines().iter().filter(|(field, _)| matches!(field, Field::Setting(_))).count();
    let hands = accused(&journal);
    assert!(setting > 0 && !hands.is_empty(), "a named setting that differs within a sitting was altered: {hands:?}");
}
