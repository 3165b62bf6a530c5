//! Trials against a plain model of sets: what was altered, what was read, which codes there were.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]

mod support;

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::trial::{TrialState, trials};
use proptest::prelude::*;
use support::*;
use time::{Duration, OffsetDateTime};

const MODULES: [&str; 3] = ["body", "doors", "seat"];

#[derive(Debug, Clone)]
enum Event {
    /// Settings of these modules are set to these values, hours after the event before.
    Change(BTreeMap<usize, u8>, u8),
    /// A reading: what it covers with which value other than expected, what it scans, kilometres.
    Read {
        covers: BTreeSet<usize>,
        other: Option<(usize, u8)>,
        scans: BTreeMap<usize, BTreeSet<u8>>,
        km: u8,
        hours: u8,
    },
}

fn event() -> impl Strategy<Value = Event> {
    let module = 0usize..3;
    let change = (prop::collection::btree_map(module.clone(), 0u8..4, 1..3), 0u8..30)
        .prop_map(|(values, hours)| Event::Change(values, hours));
    let scans = prop::collection::btree_map(module.clone(), prop::collection::btree_set(0u8..2, 0..2), 0..4);
    let other = prop::option::weighted(0.1, (module.clone(), 0u8..4));
    let read = (prop::collection::btree_set(module, 1..4), other, scans, 0u8..2, 0u8..30)
        .prop_map(|(covers, other, scans, km, hours)| Event::Read { covers, other, scans, km, hours });
    prop_oneof![2 => change, 3 => read]
}

/// What the model knows of one entry.
#[derive(Debug, Clone)]
struct Line {
    number: u32,
    hours: i64,
    km: Option<u32>,
    /// Altered settings, with what they were set to.
    altered: BTreeMap<usize, u8>,
    /// What a reading shows.
    shows: BTreeMap<usize, u8>,
    scans: BTreeMap<usize, BTreeSet<u8>>,
}

#[derive(Debug, PartialEq, Eq)]
enum Said {
    Open { unread: BTreeSet<usize>, unscanned: BTreeSet<usize>, new: BTreeSet<(usize, u8)> },
    Held(u32),
    NotHeld(u32),
    TakenOver(u32),
}

/// The rule, read off the lines for every pair of entries anew.
fn by_the_rule(lines: &[Line], work: &Line) -> Said {
    let later = |it: &&Line| it.number > work.number;
    let readings: Vec<&Line> = lines.iter().filter(later).filter(|line| !line.shows.is_empty()).collect();
    let taken_over = |module: usize| {
        lines.iter().filter(later).find(|line| line.altered.contains_key(&module)).map(|line| line.number)
    };
    let stands = |module: usize, at: u32| taken_over(module).is_none_or(|by| by > at);
    let driven = |reading: &Line| {
        let same_day = |line: &&Line| line.hours.div_euclid(24) == work.hours.div_euclid(24);
        let between = |line: &&Line| work.number < line.number && line.number < reading.number;
        let before = lines.iter().rfind(|line| line.number < work.number && line.km.is_some());
        let more = |km: u32| {
            lines.iter().filter(between).filter_map(|line| line.km).any(|it| it < km)
                || before.filter(same_day).and_then(|line| line.km).is_some_and(|it| it < km)
        };
        reading.hours.div_euclid(24) > work.hours.div_euclid(24) || reading.km.is_some_and(more)
    };
    let new_at = |at: u32| -> BTreeSet<(usize, u8)> {
        (0..3)
            .flat_map(|module| {
                let scanned = |line: &&&Line| line.scans.contains_key(&module);
                let last = readings.iter().filter(|it| it.number <= at && driven(it)).rfind(scanned);
                let mut before = lines.iter().filter(|it| it.number < work.number);
                let known = before.rfind(|it| it.scans.contains_key(&module));
                let known = known.map(|line| line.scans[&module].clone()).unwrap_or_default();
                let codes = last.map(|line| line.scans[&module].clone()).unwrap_or_default();
                codes.into_iter().filter(move |code| !known.contains(code)).map(move |code| (module, code))
            })
            .collect()
    };
    let shown = |module: usize, at: u32| {
        readings
            .iter()
            .any(|it| it.number <= at && driven(it) && stands(module, it.number) && it.shows.contains_key(&module))
    };
    let scanned = |module: usize, at: u32| {
        readings.iter().any(|it| it.number <= at && driven(it) && it.scans.contains_key(&module))
    };
    for reading in &readings {
        let at = reading.number;
        let standing: Vec<usize> = work.altered.keys().copied().filter(|module| stands(*module, at)).collect();
        if standing.iter().any(|module| reading.shows.get(module).is_some_and(|value| *value != work.altered[module])) {
            return Said::NotHeld(at);
        }
        let all = standing.iter().all(|module| shown(*module, at) && scanned(*module, at));
        if driven(reading) && !standing.is_empty() && all && new_at(at).is_empty() {
            return Said::Held(at);
        }
    }
    let left: BTreeSet<usize> = work.altered.keys().copied().filter(|module| taken_over(*module).is_none()).collect();
    if left.is_empty() {
        return Said::TakenOver(work.altered.keys().filter_map(|module| taken_over(*module)).max().unwrap());
    }
    let last = lines.last().map_or(0, |line| line.number);
    Said::Open {
        unread: left.iter().copied().filter(|module| !shown(*module, last)).collect(),
        unscanned: left.iter().copied().filter(|module| !scanned(*module, last)).collect(),
        new: new_at(last),
    }
}

fn play(events: &[Event]) -> (Journal, Vec<Line>) {
    let mut journal = Journal::new([]);
    let first = MODULES.iter().fold(reading(), |said, module| said.module(module).value("mode", "0"));
    journal.read(first.kilometres(1000));
    let (mut now, mut km) = (48i64, 1000u32);
    let mut values = [0u8; 3];
    let blank = Line {
        number: 2,
        hours: now,
        km: Some(km),
        altered: BTreeMap::new(),
        shows: (0..3).map(|module| (module, 0)).collect(),
        scans: BTreeMap::new(),
    };
    let mut lines = vec![blank.clone()];
    for event in events {
        let blank = Line { km: None, shows: BTreeMap::new(), ..blank.clone() };
        let line = match event {
            Event::Change(wanted, hours) => {
                now += i64::from(*hours);
                let altered: BTreeMap<usize, u8> = wanted
                    .iter()
                    .filter(|(module, value)| values[**module] != **value)
                    .map(|(a, b)| (*a, *b))
                    .collect();
                if altered.is_empty() {
                    continue;
                }
                let texts: Vec<(String, String)> = altered
                    .iter()
                    .map(|(module, value)| (format!("{}.mode", MODULES[*module]), value.to_string()))
                    .collect();
                let pairs: Vec<(&str, &str)> = texts.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
                let number = journal.change(&pairs);
                altered.iter().for_each(|(module, value)| values[*module] = *value);
                Line { number, altered, ..blank }
            }
            Event::Read { covers, other, scans, km: more, hours } => {
                now += i64::from(*hours);
                km += u32::from(*more);
                if let Some((module, value)) = other.filter(|(module, _)| covers.contains(module)) {
                    values[module] = value;
                }
                let mut said = reading().kilometres(km);
                for module in 0..3 {
                    if covers.contains(&module) {
                        said = said.module(MODULES[module]).value("mode", &values[module].to_string());
                    }
                    if let Some(codes) = scans.get(&module) {
                        let codes: Vec<String> = codes.iter().map(|code| format!("B100{code}")).collect();
                        said = said.module(MODULES[module]).codes(&codes.join(" "));
                    }
                }
                let number = journal.read(said);
                let shows = covers.iter().map(|module| (*module, values[*module])).collect();
                Line { number, km: Some(km), shows, scans: scans.clone(), ..blank }
            }
        };
        let at = OffsetDateTime::UNIX_EPOCH + Duration::hours(now);
        let entry = journal.entries.last_mut().unwrap();
        (entry.happened, entry.recorded) = (at, at);
        lines.push(Line { hours: now, ..line });
    }
    (journal, lines)
}

fn module(name: &asfound_core::names::ModuleName) -> usize {
    MODULES.iter().position(|module| *module == name.as_str()).unwrap()
}

fn said(state: TrialState) -> Said {
    match state {
        TrialState::Held(by) => Said::Held(by.get()),
        TrialState::NotHeld(by) => Said::NotHeld(by.get()),
        TrialState::TakenOver(by) => Said::TakenOver(by.get()),
        TrialState::Open(waiting) => Said::Open {
            unread: waiting.unread.iter().map(module).collect(),
            unscanned: waiting.unscanned.iter().map(module).collect(),
            new: waiting
                .new_codes
                .iter()
                .map(|new| (module(&new.module), u8::try_from(new.code.base().unwrap() & 0xF).unwrap()))
                .collect(),
        },
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]
    #[test]
    fn every_trial_stands_as_the_rule_says(events in prop::collection::vec(event(), 1..14)) {
        let (journal, lines) = play(&events);
        let found: BTreeMap<u32, Said> = trials(&journal.entries, &journal.history())
            .into_iter()
            .map(|trial| (trial.entry.get(), said(trial.state)))
            .collect();
        let wanted: BTreeMap<u32, Said> = lines
            .iter()
            .filter(|line| !line.altered.is_empty())
            .map(|line| (line.number, by_the_rule(&lines, line)))
            .collect();
        prop_assert_eq!(found, wanted, "{:#?}", lines);
    }
}

/// A scenario that each state occurs in, so that the property above cannot pass by never reaching one.
#[test]
fn each_state_occurs() {
    let read = |covers: &[usize], scans: &[usize], hours: u8, other: Option<(usize, u8)>| Event::Read {
        covers: covers.iter().copied().collect(),
        other,
        scans: scans.iter().map(|module| (*module, BTreeSet::new())).collect(),
        km: 0,
        hours,
    };
    let change = |module: usize, value: u8| Event::Change([(module, value)].into(), 1);
    let events = [
        change(0, 1),
        read(&[0], &[0], 1, None),
        read(&[0], &[0], 24, None),
        change(1, 1),
        change(1, 2),
        read(&[1], &[], 24, Some((1, 3))),
        change(2, 1),
    ];
    let (journal, _) = play(&events);
    let states: Vec<_> =
        trials(&journal.entries, &journal.history()).into_iter().map(|trial| said(trial.state)).collect();
    let open = Said::Open { unread: [2].into(), unscanned: [2].into(), new: BTreeSet::new() };
    assert_eq!(states, [Said::Held(5), Said::TakenOver(7), Said::NotHeld(8), open]);
}
