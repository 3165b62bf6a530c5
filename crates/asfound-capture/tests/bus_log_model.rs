//! Random work on a bus, played by a model of the module, against what is drawn up of its log.
//!
//! The model knows what the module really holds and what somebody who reads the log can know; nothing here looks at how the
//! entries are drawn up.

use std::collections::BTreeMap;

use asfound_capture::bus_log::{Bearing, BusSummary, DraftTerms, LogDrafts, LogRequest, draw_up, place};
use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Entry, FiledLog, LogDigest, Reason, Vehicle, WireAnswer};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::{History, Origin, Proof};
use asfound_core::names::{EntryNumber, RecordName};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::state::State;
use asfound_wire::conversation::{Exchanges, ModuleAddress, Timeline};
use asfound_wire::frame::{CanFrame, CanId, Interface, Timestamp};
use asfound_wire::listening::{BusEvent as HeardOne, Listener, ListenerOptions};
use asfound_wire::log::LogItem;
use asfound_wire::transport::{CanChannel, Segmentation, segments};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

const NOW: OffsetDateTime = datetime!(2026-03-14 12:00 +1);
const BEGUN: OffsetDateTime = datetime!(2026-03-14 10:00 +1);
const RECORDS: u16 = 4;

/// Numbers without pattern (`SplitMix64`).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let n = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let n = (n ^ (n >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (n ^ (n >> 31)) % below
    }
}

/// A write as the model has it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Written {
    record: u16,
    before: Option<Vec<u8>>,
    bytes: Vec<u8>,
    answer: WireAnswer,
    again: Option<Vec<u8>>,
}

/// The bus with its one module.
struct Bus {
    frames: Vec<CanFrame>,
    now: OffsetDateTime,
    holds: BTreeMap<u16, Vec<u8>>,
    /// What was read last of each record.
    read: BTreeMap<u16, Vec<u8>>,
    /// Whether what was read last is what was done last.
    read_last: BTreeMap<u16, bool>,
    writes: Vec<Written>,
}

fn channel(id: u32) -> CanChannel {
    CanChannel { interface: Interface::UNNAMED, id: CanId::standard(id).expect("11 bits"), address: None }
}

impl Bus {
    fn new() -> Self {
        let holds = (0..RECORDS).map(|record| (record, vec![0x10, u8::try_from(record).expect("few"), 0x55])).collect();
        let (read, read_last) = (BTreeMap::new(), BTreeMap::new());
        Self { frames: Vec::new(), now: BEGUN, holds, read, read_last, writes: Vec::new() }
    }

    fn say(&mut self, id: u32, payload: &[u8]) {
        let form = Segmentation { frame_bytes: 8, filler: Some(0xAA) };
        for mut frame in segments(&channel(id), payload, form).expect("it fits") {
            self.now += Duration::milliseconds(3);
            let nanoseconds = u64::try_from(self.now.unix_timestamp_nanos()).expect("after 1970");
            frame.moment = Some(Timestamp::from_nanoseconds(nanoseconds));
            self.frames.push(frame);
        }
    }

    fn read(&mut self, record: u16) {
        let id = (0x1000 + record).to_be_bytes();
        let bytes = self.holds[&record].clone();
        self.say(0x7E0, &[&[0x22], id.as_slice()].concat());
        self.say(0x7E8, &[&[0x62], id.as_slice(), bytes.as_slice()].concat());
        if let Some(last) = self.writes.iter_mut().rev().find(|write| write.record == record) {
            last.again.get_or_insert(bytes.clone());
        }
        self.read.insert(record, bytes);
        self.read_last.insert(record, true);
    }

    fn write(&mut self, record: u16, dice: &mut Dice) {
        let id = (0x1000 + record).to_be_bytes();
        let bytes = vec![u8::try_from(dice.roll(3)).expect("small"), 0x20, u8::try_from(dice.roll(2)).expect("small")];
        self.say(0x7E0, &[&[0x2E], id.as_slice(), bytes.as_slice()].concat());
        let answer = match dice.roll(8) {
            0 => WireAnswer::Refused,
            1 | 2 => WireAnswer::None,
            _ => WireAnswer::Accepted,
        };
        match answer {
            WireAnswer::Accepted => self.say(0x7E8, &[&[0x6E], id.as_slice()].concat()),
            WireAnswer::Refused => self.say(0x7E8, &[0x7F, 0x2E, 0x31]),
            // Whoever asks again has waited for the answer (P2 of ISO 14229-2, 50 ms).
            WireAnswer::None => self.now += Duration::milliseconds(60),
        }
        // Without an answer it may have been written or not.
        let made = answer == WireAnswer::Accepted || (answer == WireAnswer::None && dice.roll(2) == 0);
        if made {
            self.holds.insert(record, bytes.clone());
        }
        let before = self.read.get(&record).cloned();
        self.writes.push(Written { record, before, bytes, answer, again: None });
        self.read_last.insert(record, answer == WireAnswer::Refused && self.read_last.get(&record) == Some(&true));
    }

    fn heard(&self) -> BusSummary {
        let pairs = vec!["7E0:7E8".parse().expect("a pair")];
        let mut listener = Listener::new(ListenerOptions { pairs, ..ListenerOptions::default() });
        let (mut exchanges, mut timeline) = (Exchanges::default(), Timeline::default());
        for frame in &self.frames {
            listener.item(LogItem::Frame(frame), &mut |heard, pairs| {
                if let HeardOne::Message(message) = heard {
                    exchanges.message(&message, pairs, &mut |exchange| timeline.exchange(&exchange));
                }
            });
        }
        let pairs = listener.pairs().clone();
        exchanges.finish(&pairs, &mut |exchange| timeline.exchange(&exchange));
        let conversations = timeline.finish(&|_: &ModuleAddress, _| None);
        let sha256 = LogDigest::try_from("ab".repeat(32)).expect("64 digits");
        let log = FiledLog { name: "a.log".to_owned(), sha256, bytes: 1, first: Some(BEGUN), last: Some(self.now) };
        let mut heard = BusSummary::default();
        heard.add([log], conversations, &BTreeMap::new(), (self.frames.len() as u64, 0));
        heard
    }
}

fn entry(number: u32, at: OffsetDateTime, body: Body) -> Entry {
    Entry {
        number: EntryNumber::new(number).expect("from 1"),
        recorded: at,
        happened: at,
        precision: asfound_core::moment::Precision::Second,
        author: Author::new("Bench 2", None).expect("a name"),
        why: Reason::try_from("a test".to_owned()).expect("a reason"),
        body,
    }
}

/// Enrolled, and perhaps read an hour before the log.
fn journal(read: Option<&BTreeMap<u16, Vec<u8>>>) -> Vec<Entry> {
    let tag = "wren".parse().expect("a tag");
    let vehicle = Vehicle { tag, vin: None, about: None, enrolled: BEGUN };
    let mut entries = vec![entry(1, BEGUN - Duration::hours(2), Body::Enrolled(vehicle))];
    if let Some(holds) = read {
        let records = holds.iter();
        let records = records.map(|(id, bytes)| (RecordName::Identifier(0x1000 + id), bytes.clone().into())).collect();
        let module = ModuleReading { records, ..ModuleReading::default() };
        let modules = [("body".parse().expect("a module"), module)].into();
        let reading = Reading { modules, ..Reading::default() };
        let state = State::fold(&entries).expect("it is the enrolment");
        let terms = ReadingTerms {
            role: asfound_core::entry::ReadingRole::AsFound,
            partial: false,
            recorded: BEGUN - Duration::hours(1),
        };
        let examined = examine(&reading, &state, &DefinitionSet::new(), terms).expect("it is sound");
        entries.push(entry(2, BEGUN - Duration::hours(1), Body::Reading(examined.body)));
    }
    entries
}

fn drawn(bus: &Bus, entries: &[Entry], claimed: bool) -> (LogDrafts, Vec<Entry>) {
    let definitions = DefinitionSet::new();
    let history = History::trace(entries, &definitions).expect("the journal is sound");
    let heard = bus.heard();
    let said = ["body=7E0:7E8".parse().expect("a module")];
    let placing = place(&heard, &said, entries, history.state(), &definitions).expect("it speaks there");
    let terms = DraftTerms {
        claimed,
        testers: Vec::new(),
        began: None,
        now: NOW,
        author: Author::new("Bench 2", None).expect("a name"),
        why: Reason::try_from("a test".to_owned()).expect("a reason"),
        tool: None,
        odometer_km: None,
        acknowledgements: Vec::new(),
    };
    let asked = LogRequest {
        heard: &heard,
        placing: &placing,
        entries,
        history: &history,
        definitions: &definitions,
        terms: &terms,
    };
    let drawn = draw_up(asked).expect("something was said");
    // The entries that bear on the logs are enough.
    let mut bearing = Bearing::of(&heard, &placing);
    let some: Vec<Entry> = entries.iter().filter(|entry| bearing.takes(entry)).cloned().collect();
    let of_some = draw_up(LogRequest { entries: &some, ..asked }).expect("something was said");
    assert_eq!((&of_some.entries, &of_some.witness), (&drawn.entries, &drawn.witness));
    let mut all = entries.to_vec();
    all.extend(drawn.entries.iter().map(|one| entry(one.number.get(), one.happened, one.body.clone())));
    (drawn, all)
}

fn play(seed: u64) -> Bus {
    let (mut bus, mut dice) = (Bus::new(), Dice(seed));
    bus.read(0);
    for _ in 0..4 + dice.roll(14) {
        let record = u16::try_from(dice.roll(u64::from(RECORDS))).expect("few");
        if dice.roll(5) < 3 { bus.read(record) } else { bus.write(record, &mut dice) }
    }
    bus
}

#[test]
fn the_writes_are_those_that_were_made() {
    for seed in 0..400 {
        let bus = play(seed);
        let (drawn, _) = drawn(&bus, &journal(Some(&Bus::new().holds)), true);
        let bytes = |bytes: &Option<asfound_core::value::HexBytes>| bytes.as_ref().map(|b| b.as_slice().to_vec());
        let told: Vec<Written> = drawn
            .witness
            .writes
            .iter()
            .map(|write| Written {
                record: write.record.identifier().expect("an identifier") - 0x1000,
                before: bytes(&write.found),
                bytes: bytes(&write.written).expect("every request is in the log"),
                answer: write.answer,
                again: bytes(&write.read_back),
            })
            .collect();
        assert_eq!(told, bus.writes, "seed {seed}");
    }
}

#[test]
fn what_is_filed_follows_from_the_journal_and_ends_with_what_was_read() {
    for seed in 0..400 {
        for (claimed, known) in [(true, true), (true, false), (false, true), (false, false)] {
            let bus = play(seed);
            let holds = Bus::new().holds;
            let entries = journal(known.then_some(&holds));
            let (drawn, all) = drawn(&bus, &entries, claimed);
            let state = State::fold(&all).unwrap_or_else(|error| panic!("seed {seed}: {error}"));
            let module = "body".parse().expect("a module");
            for (record, bytes) in &bus.read {
                // What was read last, and not written after, is what the journal knows.
                if bus.read_last[record] {
                    let known = state.record(&module, &RecordName::Identifier(0x1000 + record));
                    let known = known.map(|known| known.bytes.as_slice());
                    assert_eq!(known, Some(bytes.as_slice()), "seed {seed}, record {record}, claimed {claimed}");
                }
            }
            let kinds: Vec<_> = drawn.entries.iter().map(|entry| entry.body.kind()).collect();
            assert_eq!(kinds.last(), Some(&"witness"));
            assert!(claimed || !kinds.contains(&"change"), "nobody claimed anything");
            assert!(!claimed || drawn.open.is_empty());
        }
    }
}

#[test]
fn what_was_written_accepted_and_read_back_is_witnessed_and_nothing_else() {
    let (mut witnessed, mut not) = (0, 0);
    for seed in 0..400 {
        let bus = play(seed);
        let (drawn, all) = drawn(&bus, &journal(Some(&Bus::new().holds)), true);
        let history = History::trace(&all, &DefinitionSet::new()).expect("what is filed is sound");
        for write in &drawn.witness.writes {
            let Some(entry) = write.entry else { continue };
            let here = history.transitions_of(entry).filter(|(field, step)| {
                let of = match field {
                    asfound_core::history::Field::Undeclared { record, .. } => *record == write.record,
                    asfound_core::history::Field::Setting(_) => false,
                };
                of && step.origin == Origin::Work
            });
            for (field, _) in here {
                let proven = matches!(history.proof(field, entry), Some(Proof::Witnessed(_)));
                // The same bytes written again belong to the same change; one of them read back is enough.
                let should = drawn.witness.writes.iter().any(|other| {
                    let of = other.entry == Some(entry) && other.record == write.record;
                    of && other.answer == WireAnswer::Accepted && other.read_back_agrees() == Some(true)
                });
                assert_eq!(proven, should, "seed {seed}: {write:?}");
                if should { witnessed += 1 } else { not += 1 }
            }
        }
    }
    assert!(witnessed > 100 && not > 100, "both were tried: {witnessed} and {not}");
}

/// Whose each write was, as the model knows: all by one tester that claims them.
#[test]
fn work_that_is_claimed_is_never_another_hand_s() {
    let mut changes = 0;
    for seed in 0..400 {
        let bus = play(seed);
        let (drawn, all) = drawn(&bus, &journal(Some(&Bus::new().holds)), true);
        let history = History::trace(&all, &DefinitionSet::new()).expect("what is filed is sound");
        let mut holds = Bus::new().holds;
        for (place, write) in drawn.witness.writes.iter().enumerate() {
            assert!(!drawn.open.contains(&place), "seed {seed}");
            let record = write.record.identifier().expect("an identifier") - 0x1000;
            let bytes = write.written.as_ref().expect("every request is in the log").as_slice();
            if write.answer != WireAnswer::Accepted {
                continue;
            }
            let altered = holds.insert(record, bytes.to_vec()).as_deref() != Some(bytes);
            changes += u32::from(altered);
            // What was altered and read is in an entry or noted as own; and the same bytes again are nobody else's.
            let accounted = write.entry.is_some() || write.own;
            let unanswered =
                bus.writes[..place].iter().any(|other| other.record == record && other.answer == WireAnswer::None);
            assert!(accounted || !altered || unanswered, "seed {seed}, {place}: {write:?}");
        }
        // Where every write was answered, nothing that was read is somebody else's.
        if bus.writes.iter().all(|write| write.answer != WireAnswer::None) {
            let last = EntryNumber::new(2).expect("two entries");
            let accused = history.timelines().iter().flat_map(|(_, line)| line.transitions()).filter(|step| {
                step.entry > last && matches!(step.origin, Origin::AnotherHand(_) | Origin::Contradicts(_))
            });
            assert_eq!(accused.count(), 0, "seed {seed}");
        }
    }
    assert!(changes > 400, "{changes} changes were played");
}
