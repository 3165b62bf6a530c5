//! Narrowing down in whole journals: proposals are put back, rounds are filed, and what was planted is found.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]

mod support;

use std::collections::BTreeSet;

use asfound_core::entry::{Body, PutBackOf};
use asfound_core::names::EntryNumber;
use asfound_core::suspects::{Finding, Narrowed, NotTried, Outcome, Part, narrow, suspects};
use support::*;

const MODULES: [&str; 4] = ["doors", "seat", "gateway", "brakes"];

fn ask(journal: &Journal) -> Narrowed {
    let (history, code) = (journal.history(), "B1234".parse().unwrap());
    let trials = journal.trials();
    let suspicion = suspects(&trials, &history, &journal.definitions, &code, None).unwrap();
    narrow(&trials, &history, &journal.definitions, &suspicion)
}

/// A journal with many settings, of which each entry alters one to three; those in `brakes` are restricted.
fn roll(dice: &mut Dice) -> (Journal, BTreeSet<u32>) {
    let mut journal = Journal::new([]);
    let settings: Vec<String> =
        MODULES.iter().flat_map(|module| (0..6).map(move |at| format!("{module}.s{at}"))).collect();
    let mut said = reading();
    for setting in &settings {
        let (module, name) = setting.split_once('.').unwrap();
        said = said.module(module).value(name, "0");
    }
    journal.read(said.module("cluster").codes(""));
    let mut entries = BTreeSet::new();
    for value in 1..3 + dice.below(8) {
        let touched: BTreeSet<usize> =
            (0..=dice.below(3)).map(|_| if dice.one_in(8) { 18 + dice.below(6) } else { dice.below(18) }).collect();
        let text = value.to_string();
        let wanted: Vec<(&str, &str)> = touched.iter().map(|at| (settings[*at].as_str(), text.as_str())).collect();
        entries.insert(journal.change(&wanted));
    }
    journal.read(reading().module("cluster").codes("B1234/2F"));
    (journal, entries)
}

/// What becomes of the code: it is there when something of every planted entry's last content is there.
struct Planted(Vec<(String, String)>);

impl Planted {
    /// The settings of one part, with what they hold while the code is there.
    fn of(journal: &Journal, parts: &[&Part]) -> Self {
        let fields = parts.iter().flat_map(|part| &part.fields).map(ToString::to_string);
        Self(fields.map(|field| (field.clone(), journal.value(&field).unwrap())).collect())
    }

    fn shows(&self, journal: &Journal) -> bool {
        self.0.iter().all(|(setting, value)| journal.value(setting).as_ref() == Some(value))
    }
}

/// Plays rounds as proposed until there is none; files each as an entry and a reading.
fn play(journal: &mut Journal, planted: &Planted) -> (u32, Narrowed) {
    let mut rounds = 0;
    loop {
        let narrowed = ask(journal);
        let Some(next) = narrowed.next.clone() else { return (rounds, narrowed) };
        assert!(
            next.plan.steps.iter().all(|step| step.restricted.is_empty()),
            "a restricted system was experimented with"
        );
        let of = PutBackOf::Entries(next.wish.entries.iter().copied().collect());
        journal.file(Body::PutBack(of, next.plan.work(Vec::new())));
        let codes = if planted.shows(journal) { "B1234/2F" } else { "" };
        journal.read(reading().module("cluster").codes(codes));
        rounds += 1;
        assert!(rounds < 60, "it ends");
    }
}

fn named(narrowed: &Narrowed) -> BTreeSet<EntryNumber> {
    let entries = |part: usize| narrowed.parts[part].entries.clone();
    match narrowed.finding {
        Finding::One(a) => entries(a),
        Finding::Pair(a, b) => &entries(a) | &entries(b),
        _ => BTreeSet::new(),
    }
}

#[test]
fn what_was_planted_is_found_through_entries_and_readings() {
    let mut dice = Dice::new(23);
    let (mut one, mut pair, mut none, mut moved_back) = (0, 0, 0, 0);
    for turn in 0..60 {
        let (journal, _) = roll(&mut dice);
        let parts = ask(&journal).parts;
        let free: Vec<&Part> = parts.iter().filter(|part| part.not_tried.is_none()).collect();
        let chosen: Vec<&Part> = match turn % 3 {
            0 if !free.is_empty() => vec![free[dice.below(free.len())]],
            1 if free.len() > 1 => {
                let a = dice.below(free.len());
                vec![free[a], free[(a + 1 + dice.below(free.len() - 1)) % free.len()]]
            }
            _ => Vec::new(),
        };
        let planted = Planted::of(&journal, &chosen);
        let mut journal = journal.clone();
        let (_, narrowed) = play(&mut journal, &planted);
        let wanted: BTreeSet<EntryNumber> = chosen.iter().flat_map(|part| part.entries.iter().copied()).collect();
        assert_eq!(named(&narrowed), wanted, "{narrowed:#?}");
        match (chosen.len(), narrowed.finding) {
            (1, Finding::One(_)) => one += 1,
            (2, Finding::Pair(..)) => pair += 1,
            (0, Finding::None) => none += 1,
            (0, Finding::Open) if free.is_empty() => {}
            other => panic!("{other:?}: {narrowed:#?}"),
        }
        assert!(free.is_empty() || narrowed.confirmed, "{narrowed:#?}");
        let put_in = |round: &asfound_core::suspects::Round| round.out.is_empty();
        moved_back += u32::from(narrowed.rounds.iter().skip(1).any(|round| !put_in(round)));
    }
    assert!(one > 15 && pair > 10 && none > 10 && moved_back > 20, "{one} {pair} {none} {moved_back}");
}

#[test]
fn restricted_entries_and_those_without_a_way_back_are_left_to_people() {
    let mut journal = Journal::new([]);
    journal.read(
        reading()
            .module("brakes")
            .value("hold", "off")
            .module("doors")
            .value("fold", "off")
            .module("cluster")
            .codes(""),
    );
    journal.change(&[("brakes.hold", "on")]); // 3
    journal.change(&[("doors.fold", "on")]); // 4
    journal.change(&[("doors.fold", "slow")]); // 5
    journal.read(reading().module("cluster").codes("B1234/2F")); // 6
    let narrowed = ask(&journal);
    let shown: Vec<(Vec<u32>, bool)> = narrowed
        .parts
        .iter()
        .map(|part| {
            let restricted = matches!(&part.not_tried, Some(NotTried::Restricted(tags)) if tags.len() == 1);
            (part.entries.iter().map(|entry| entry.get()).collect(), restricted)
        })
        .collect();
    assert_eq!(
        shown,
        [(vec![4, 5], false), (vec![3], true)],
        "two entries on one setting are told apart from the rest together"
    );
    let next = narrowed.next.unwrap();
    assert_eq!(next.out.iter().map(|entry| entry.get()).collect::<Vec<_>>(), [4, 5]);
    assert_eq!(next.plan.steps.len(), 1);
}

/// A module may remember a code; only what shows that it failed again counts.
#[test]
fn a_remembered_code_decides_nothing() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("doors").value("fold", "off").value("tone", "low").module("cluster").codes(""));
    journal.change(&[("doors.fold", "on")]);
    journal.change(&[("doors.tone", "high")]);
    journal.read(reading().module("cluster").codes("B1234"));
    journal.put_back(&[3]).unwrap();
    let outcome = |codes: &[&str]| {
        let mut journal = journal.clone();
        codes.iter().for_each(|codes| {
            journal.read(reading().module("cluster").codes(codes));
        });
        ask(&journal).rounds.into_iter().map(|round| round.outcome).next_back().unwrap()
    };
    let undecided = |outcome: Outcome| matches!(outcome, Outcome::Undecided(_));
    assert!(undecided(outcome(&["B1234"])));
    assert!(undecided(outcome(&["B1234/48"])), "stored, and not tested since");
    assert!(undecided(outcome(&["B1234/69"])), "its last test failed, before this cycle");
    assert_eq!(outcome(&["B1234/2F"]), Outcome::CameBack);
    assert_eq!(outcome(&["B1234/09"]), Outcome::CameBack);
    assert_eq!(outcome(&["", "B1234"]), Outcome::CameBack, "gone in between");
    assert_eq!(outcome(&["B1234/28"]), Outcome::StayedAway, "stored, and its test passed on this drive");
    assert_eq!(outcome(&[""]), Outcome::StayedAway);
    // On the same day and without a kilometre nothing was driven.
    let mut still = journal.clone();
    still.read(reading().module("cluster").codes(""));
    let day = still.entries[still.entries.len() - 2].happened;
    still.entries.last_mut().unwrap().happened = day;
    assert!(undecided(ask(&still).rounds.pop().unwrap().outcome));
}

#[test]
fn a_code_that_goes_by_itself_fits_nothing() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("doors").value("fold", "off").module("cluster").codes(""));
    journal.change(&[("doors.fold", "on")]);
    journal.read(reading().module("cluster").codes("B1234/2F"));
    journal.read(reading().module("cluster").codes(""));
    let narrowed = ask(&journal);
    assert_eq!((narrowed.finding, narrowed.next), (Finding::Contradiction, None));
}
