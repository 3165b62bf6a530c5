//! Movement against a model that looks at one bit at a time: a bit that somebody wrote is never hidden, and the order in
//! which the same dated facts are filed changes nothing.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

use std::collections::BTreeMap;

use asfound_core::entry::{
    Author, Body, BusLogBody, Effects, Entry, FiledLog, LogDigest, ModuleCoverage, ReadingBody, ReadingRole, Reason,
    RecordEffect, WireAnswer, WireMovement, WireWrite, WorkBody,
};
use asfound_core::moment::Precision;
use asfound_core::movement::{MovementObserver, Movements};
use asfound_core::names::{EntryNumber, ModuleName, RecordName};
use asfound_core::situation::Situation;
use asfound_core::state::{KnownRecord, ModuleState, State};
use asfound_core::value::BitMask;
use proptest::prelude::*;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

const START: OffsetDateTime = datetime!(2026-03-14 06:00 UTC);

/// What happens to a record of two bytes, at most once in a quarter of an hour.
#[derive(Debug, Clone)]
enum Fact {
    /// It is read, after these bits were altered by whomever or whatever.
    Read { altered: [u8; 2], role: ReadingRole },
    /// Recorded work alters these bits.
    Work([u8; 2]),
    /// A log shows a write that alters these bits; nothing where it was not read before.
    Wire(Option<[u8; 2]>),
    /// A log shows these bits to move.
    Moved([u8; 2]),
}

fn fact() -> impl Strategy<Value = Fact> {
    let bits = || {
        prop_oneof![4 => (0..2_usize, 0..8_u8).prop_map(|(byte, bit)| {
        let mut bits = [0; 2];
        bits[byte] = 1 << bit;
        bits
    }), 1 => any::<[u8; 2]>(), 1 => Just([0; 2])]
    };
    let role = prop_oneof![Just(ReadingRole::Check), Just(ReadingRole::AsFound), Just(ReadingRole::AsLeft)];
    prop_oneof![
        6 => (bits(), role).prop_map(|(altered, role)| Fact::Read { altered, role }),
        1 => bits().prop_map(Fact::Work),
        1 => proptest::option::weighted(0.7, bits()).prop_map(Fact::Wire),
        2 => bits().prop_map(Fact::Moved),
    ]
}

/// Facts at their quarters of an hour, in order, some of them days apart.
fn facts() -> impl Strategy<Value = Vec<(OffsetDateTime, Fact)>> {
    proptest::collection::vec((prop_oneof![5 => 1..6_i64, 1 => Just(30), 1 => Just(200)], fact()), 1..14).prop_map(
        |all| {
            let mut at = START;
            all.into_iter()
                .map(|(quarters, fact)| {
                    at += Duration::minutes(15 * quarters);
                    (at, fact)
                })
                .collect()
        },
    )
}

/// A fact with what the record holds then: the bytes before and after it.
struct Told<'f> {
    at: OffsetDateTime,
    fact: &'f Fact,
    before: [u8; 2],
    after: [u8; 2],
}

fn told(facts: &[(OffsetDateTime, Fact)]) -> Vec<Told<'_>> {
    let mut now = [0x3C, 0xA5];
    let mut all = Vec::new();
    for (at, fact) in facts {
        let before = now;
        let altered = match fact {
            Fact::Read { altered, .. } | Fact::Work(altered) | Fact::Wire(Some(altered)) => *altered,
            Fact::Wire(None) | Fact::Moved(_) => [0; 2],
        };
        now = [now[0] ^ altered[0], now[1] ^ altered[1]];
        all.push(Told { at: *at, fact, before, after: now });
    }
    all
}

/// Lets the facts be observed in an order of filing.
fn observed(told: &[Told<'_>], order: &[usize]) -> Movements {
    let mut observer = MovementObserver::default();
    let (module, record): (ModuleName, RecordName) = ("body".parse().unwrap(), "2001".parse().unwrap());
    for (number, place) in (2..).zip(order) {
        let one = &told[*place];
        let body = match one.fact {
            Fact::Read { role, .. } => {
                let covered = ModuleCoverage { records: [record.clone()].into(), ..ModuleCoverage::default() };
                Body::Reading(ReadingBody {
                    role: *role,
                    partial: true,
                    by: None,
                    tool: None,
                    odometer_km: None,
                    supply_voltage: None,
                    situation: Situation::default(),
                    covered: [(module.clone(), covered)].into(),
                    effects: Effects::default(),
                    late: BTreeMap::new(),
                })
            }
            Fact::Work(_) => {
                let (found, left) = (Some(one.before.to_vec().into()), one.after.to_vec().into());
                let effect = RecordEffect { module: module.clone(), record: record.clone(), found, left };
                let effects = Effects { records: vec![effect], ..Effects::default() };
                Body::Change(WorkBody { effects, ..WorkBody::default() })
            }
            Fact::Wire(_) | Fact::Moved(_) => {
                let log = FiledLog {
                    name: "a.log".to_owned(),
                    sha256: LogDigest::try_from("0".repeat(64)).unwrap(),
                    bytes: 1,
                    first: None,
                    last: None,
                };
                let mut body = BusLogBody { logs: vec![log], ..BusLogBody::default() };
                if let Fact::Moved(bits) = one.fact {
                    body.moved.push(WireMovement {
                        module: "body".parse().unwrap(),
                        record: "2001".parse().unwrap(),
                        bits: bits.to_vec().into(),
                        times: 3,
                        from: Some(one.at),
                        until: Some(one.at + Duration::minutes(2)),
                    });
                } else {
                    body.writes.push(WireWrite {
                        at: Some(one.at),
                        found: matches!(one.fact, Fact::Wire(Some(_))).then(|| one.before.to_vec().into()),
                        written: Some(one.after.to_vec().into()),
                        ..WireWrite::new(module.clone(), record.clone(), WireAnswer::Accepted)
                    });
                }
                Body::Witness(body)
            }
        };
        let author = Author::new("Bench 2", None).unwrap();
        let why = Reason::try_from("a test".to_owned()).unwrap();
        let (number, recorded) = (EntryNumber::new(number).unwrap(), START + Duration::days(90));
        let entry = Entry { number, recorded, happened: one.at, precision: Precision::Second, author, why, body };
        let known =
            KnownRecord { bytes: one.after.to_vec().into(), since: number, read: None, known_at: entry.moment() };
        let records = [(record.clone(), known)].into();
        let modules = [(module.clone(), ModuleState { records, ..ModuleState::default() })].into();
        observer.push(&entry, &State { modules, ..State::default() });
    }
    observer.finish()
}

/// What is to be said of one bit in a reading at a moment.
#[derive(Debug, PartialEq, Eq, Clone, Copy)]
enum Nature {
    Moving,
    Setting,
    Unclear,
}

/// The same for one bit at a time, straight from the words: seen to move and written by nobody before, it moves; written
/// before and not seen in a log to move since, it is a setting; else nobody can tell.
fn nature(told: &[Told<'_>], byte: usize, bit: u8, at: OffsetDateTime) -> Nature {
    let has = |bits: [u8; 2]| bits[byte] >> bit & 1 == 1;
    let writes = |one: &Told<'_>| match one.fact {
        Fact::Work(bits) | Fact::Wire(Some(bits)) => has(*bits),
        Fact::Wire(None) => true,
        Fact::Read { .. } | Fact::Moved(_) => false,
    };
    let done = |one: &Told<'_>| matches!(one.fact, Fact::Work(_) | Fact::Wire(_));
    let last_write = told.iter().filter(|one| one.at <= at && writes(one)).map(|one| one.at).max();
    let in_log = |after: Option<OffsetDateTime>| {
        told.iter()
            .any(|one| matches!(one.fact, Fact::Moved(bits) if has(*bits)) && after.is_none_or(|after| one.at > after))
    };
    if let Some(write) = last_write {
        return if in_log(Some(write)) { Nature::Unclear } else { Nature::Setting };
    }
    let readings: Vec<&Told<'_>> = told.iter().filter(|one| matches!(one.fact, Fact::Read { .. })).collect();
    let between_readings = readings.windows(2).any(|pair| {
        let (a, b) = (pair[0], pair[1]);
        let differs = has([a.after[0] ^ b.after[0], a.after[1] ^ b.after[1]]);
        let as_left = |one: &Told<'_>| matches!(one.fact, Fact::Read { role: ReadingRole::AsLeft, .. });
        let soon = b.at - a.at <= Duration::hours(4) && a.at.date() == b.at.date();
        let something_done = told.iter().any(|one| done(one) && a.at <= one.at && one.at <= b.at);
        let written_before = told.iter().any(|one| writes(one) && one.at <= b.at);
        differs && soon && !something_done && !written_before && (as_left(a) || !as_left(b))
    });
    if in_log(None) || between_readings { Nature::Moving } else { Nature::Unclear }
}

fn of(movements: &Movements, at: OffsetDateTime) -> Vec<Nature> {
    let all = BitMask::all(2);
    let (module, record) = ("body".parse().unwrap(), "2001".parse().unwrap());
    let sorted = movements.sort((&module, &record), &asfound_core::identity::Identity::default(), &all, Some(at));
    let nature = |(byte, bit): (usize, u8)| {
        let holds = |mask: &BitMask| mask.byte(byte) >> bit & 1 == 1;
        match (holds(&sorted.moving), holds(&sorted.settings), holds(&sorted.unclear)) {
            (true, false, false) => Nature::Moving,
            (false, true, false) => Nature::Setting,
            (false, false, true) => Nature::Unclear,
            other => panic!("byte {byte} bit {bit} is in one set: {other:?}"),
        }
    };
    all.bits().map(nature).collect()
}

proptest! {
    #[test]
    fn each_bit_is_what_the_words_say(facts in facts(), shuffle in any::<u64>()) {
        let told = told(&facts);
        let mut filing: Vec<usize> = (0..told.len()).collect();
        let in_order = observed(&told, &filing);
        // Another order of filing, by a generator of its own.
        let mut dice = shuffle | 1;
        for last in (1..filing.len()).rev() {
            dice ^= dice << 13;
            dice ^= dice >> 7;
            dice ^= dice << 17;
            filing.swap(last, usize::try_from(dice % (last as u64 + 1)).unwrap());
        }
        let shuffled = observed(&told, &filing);
        for at in told.iter().map(|one| one.at).chain([START + Duration::days(80)]) {
            let expected: Vec<Nature> =
                (0..2).flat_map(|byte| (0..8).map(move |bit| (byte, bit))).map(|(byte, bit)| nature(&told, byte, bit, at)).collect();
            prop_assert_eq!(&of(&in_order, at), &expected, "at {}", at);
            prop_assert_eq!(&of(&shuffled, at), &expected, "filed in another order, at {}", at);
        }
    }

    /// Whatever was seen before: bits that work or a write on the bus altered later are never left out after that.
    #[test]
    fn what_somebody_wrote_is_never_hidden(facts in facts()) {
        let told = told(&facts);
        let filing: Vec<usize> = (0..told.len()).collect();
        let movements = observed(&told, &filing);
        for one in &told {
            let (Fact::Work(bits) | Fact::Wire(Some(bits))) = one.fact else { continue };
            for at in told.iter().map(|other| other.at).filter(|at| *at >= one.at) {
                let natures = of(&movements, at);
                for (place, nature) in natures.iter().enumerate() {
                    if bits[place / 8] >> (place % 8) & 1 == 1 {
                        prop_assert_ne!(*nature, Nature::Moving);
                    }
                }
            }
        }
    }
}
