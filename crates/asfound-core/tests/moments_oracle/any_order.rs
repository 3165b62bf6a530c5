//! The same dated facts, filed in any order, give the same verdicts.

use std::collections::BTreeMap;

use asfound_core::history::{Field, History, Origin};
use asfound_core::moment::StatedTime;
use proptest::prelude::*;
use time::{Duration, OffsetDateTime};

use super::filing::{Filing, definitions, field, number};
use super::parse::{Alteration, CHIMES, Said, What};
use super::{short_origin, short_proof};

/// What happens next to a vehicle with a seat that has a serial number and a cluster that has none.
#[derive(Debug, Clone, Copy)]
enum Happening {
    Reading { seat: bool, cluster: bool },
    Heat { to: u8, made: bool },
    Chime { to: usize, made: bool },
    HeatByHand(u8),
    ChimeByHand(usize),
    SeatSwapped(u8),
}

fn happening() -> impl Strategy<Value = Happening> {
    let made = prop::bool::weighted(0.85);
    prop_oneof![
        6 => (any::<bool>(), any::<bool>()).prop_map(|(seat, cluster)| Happening::Reading { seat, cluster }),
        3 => (1..7_u8, made).prop_map(|(to, made)| Happening::Heat { to, made }),
        3 => (0..CHIMES.len(), made).prop_map(|(to, made)| Happening::Chime { to, made }),
        1 => (1..7_u8).prop_map(Happening::HeatByHand),
        1 => (0..CHIMES.len()).prop_map(Happening::ChimeByHand),
        1 => (0..3_u8).prop_map(Happening::SeatSwapped),
    ]
}

/// A dated fact: what a reading showed, or what was altered.
#[derive(Debug, Clone, Copy)]
enum Fact {
    Reading { serial: u8, heat: Option<u8>, chime: Option<usize> },
    Heat { found: u8, left: u8 },
    Chime { found: usize, left: usize },
}

/// The facts that people note while a vehicle lives through that.
fn facts(happenings: &[Happening]) -> Vec<Fact> {
    let (mut heats, mut chime, mut serial) = ([1_u8, 2, 3], 0, 0_u8);
    let mut facts = Vec::new();
    for happening in happenings {
        let heat = &mut heats[usize::from(serial)];
        match *happening {
            Happening::Reading { seat, cluster } => {
                let (seat, cluster) = if seat || cluster { (seat, cluster) } else { (true, true) };
                facts.push(Fact::Reading { serial, heat: seat.then_some(*heat), chime: cluster.then_some(chime) });
            }
            Happening::Heat { to, made } if to != *heat => {
                facts.push(Fact::Heat { found: *heat, left: to });
                *heat = if made { to } else { *heat };
            }
            Happening::Chime { to, made } if to != chime => {
                facts.push(Fact::Chime { found: chime, left: to });
                chime = if made { to } else { chime };
            }
            Happening::Heat { .. } | Happening::Chime { .. } => {}
            Happening::HeatByHand(to) => *heat = to,
            Happening::ChimeByHand(to) => chime = to,
            Happening::SeatSwapped(to) => serial = to,
        }
    }
    facts
}

/// What is concluded of the facts: for each field the steps of its life, the proofs of its work, and what is known now.
#[derive(Debug, PartialEq, Eq)]
struct Conclusion {
    steps: BTreeMap<&'static str, Vec<(usize, String)>>,
    proofs: BTreeMap<(&'static str, usize), String>,
    heat: Option<Vec<u8>>,
    serial: Option<String>,
    chime: Option<String>,
}

/// Files the facts in that order; nothing where one cannot be filed, because the journal knows already what the work left.
fn conclude(facts: &[Fact], order: &[usize], at_once: bool) -> Option<Conclusion> {
    let definitions = definitions();
    let begin = OffsetDateTime::UNIX_EPOCH + Duration::days(20_000);
    let mut filing = Filing::new(&definitions, begin);
    let mut place_of = BTreeMap::new();
    for (turn, &place) in order.iter().enumerate() {
        let count = |of: usize| i32::try_from(of).unwrap();
        let happened: StatedTime = (begin + Duration::HOUR * (count(place) + 1)).into();
        let filed_later = begin + Duration::HOUR * (count(facts.len()) + 1) + Duration::MINUTE * count(turn);
        let recorded = if at_once { happened.at } else { filed_later };
        let entry = match facts[place] {
            Fact::Reading { serial, heat, chime } => filing.read(recorded, happened, &said(serial, heat, chime)),
            Fact::Heat { found, left } => {
                let (seat, record) = ("seat".parse().unwrap(), "2A01".parse().unwrap());
                let known =
                    filing.state.record(&seat, &record).map(|known| (known.known_at, known.bytes.as_slice()[0]));
                let (late, found) = seen(known, found, happened, recorded);
                let what = What::Record { name: "2A01", found: vec![found], left: vec![left] };
                if found == left {
                    return None;
                }
                filing.work(recorded, happened, &[Alteration { module: "seat", what, late }])
            }
            Fact::Chime { found, left } => {
                let module = filing.state.module(&"cluster".parse().unwrap());
                let known = module.and_then(|module| module.stated.get(&"chime".parse().unwrap()));
                let known = known.map(|known| (known.known_at, known.value.clone()));
                let (late, found) = seen(known, CHIMES[found].to_owned(), happened, recorded);
                if found == CHIMES[left] {
                    return None;
                }
                let what = What::Value { name: "chime", found, left: CHIMES[left].to_owned() };
                filing.work(recorded, happened, &[Alteration { module: "cluster", what, late }])
            }
        };
        place_of.insert(entry, place);
    }
    let history = History::trace(&filing.entries, &definitions).unwrap();
    Some(conclusion(&history, &place_of, facts))
}

/// Whether work comes late, and what it is filed to have found: what is known, else what is told (`--was`).
fn seen<T>(
    known: Option<(asfound_core::entry::Moment, T)>,
    told: T,
    happened: StatedTime,
    recorded: OffsetDateTime,
) -> (bool, T) {
    let now = asfound_core::entry::Moment::new(number(u32::MAX), happened, recorded);
    match known {
        None => (false, told),
        Some((at, _)) if now.is_before(&at) => (true, told),
        Some((_, known)) => (false, known),
    }
}

fn said(serial: u8, heat: Option<u8>, chime: Option<usize>) -> Vec<Said> {
    let seat = heat.map(|heat| Said {
        module: "seat",
        serial: Some(format!("S{serial}")),
        records: [("2A01", vec![heat])].into(),
        values: BTreeMap::new(),
    });
    let cluster = chime.map(|chime| Said {
        module: "cluster",
        serial: None,
        records: BTreeMap::new(),
        values: [("chime", CHIMES[chime].to_owned())].into(),
    });
    seat.into_iter().chain(cluster).collect()
}

fn conclusion(history: &History, place_of: &BTreeMap<u32, usize>, facts: &[Fact]) -> Conclusion {
    let place = |entry: asfound_core::names::EntryNumber| place_of[&entry.get()];
    let fields: [(&'static str, Field); 2] = ["seat.heat", "cluster.chime"].map(|path| (path, field(path)));
    let mut conclusion = Conclusion {
        steps: BTreeMap::new(),
        proofs: BTreeMap::new(),
        heat: None,
        serial: history.state().identity(&"seat".parse().unwrap()).serial,
        chime: None,
    };
    for (path, of) in &fields {
        let steps = history.timeline(of).map_or(&[][..], |timeline| timeline.transitions());
        let named = |origin| match origin {
            Origin::Contradicts(work) => format!("contradicts {}", place(work)),
            other => short_origin(other),
        };
        conclusion.steps.insert(path, steps.iter().map(|step| (place(step.entry), named(step.origin))).collect());
        for (entry, place) in place_of {
            let on_field = match facts[*place] {
                Fact::Heat { .. } => *path == "seat.heat",
                Fact::Chime { .. } => *path == "cluster.chime",
                Fact::Reading { .. } => false,
            };
            if let Some(proof) = history.proof(of, number(*entry)).filter(|_| on_field) {
                let short = short_proof(proof);
                let by = short[1..].parse().ok().map(|by: u32| place_of[&by].to_string());
                conclusion.proofs.insert((path, *place), short[..1].to_owned() + &by.unwrap_or_default());
            }
        }
    }
    let record = history.state().record(&"seat".parse().unwrap(), &"2A01".parse().unwrap());
    conclusion.heat = record.map(|known| known.bytes.as_slice().to_vec());
    let cluster = history.state().module(&"cluster".parse().unwrap());
    conclusion.chime = cluster.and_then(|of| of.stated.get(&"chime".parse().unwrap())).map(|known| known.value.clone());
    conclusion
}

fn told_in_some_order() -> impl Strategy<Value = (Vec<Fact>, Vec<usize>)> {
    prop::collection::vec(happening(), 2..16).prop_map(|happenings| facts(&happenings)).prop_flat_map(|facts| {
        let order: Vec<usize> = (0..facts.len()).collect();
        (Just(facts), Just(order).prop_shuffle())
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, max_global_rejects: 200_000, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_filing_moves_no_verdict((facts, order) in told_in_some_order()) {
        let in_time: Vec<usize> = (0..facts.len()).collect();
        let at_once = conclude(&facts, &in_time, true);
        let later = conclude(&facts, &order, false);
        prop_assume!(at_once.is_some() && later.is_some());
        prop_assert_eq!(later, at_once);
    }
}
