//! Narrowing down, held against a sign that comes as it will: what is confirmed is right, and how many drives it takes.
//!
//! `ASFOUND_PLAYS` sets how many plays each kind of truth gets; `-- --nocapture` shows what was measured.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "how many are played is asked of the test, and told by it"
)]

mod support;

use asfound_core::suspects::{Cause, Narrowing, Parts};
use support::Dice;

/// After how many drives somebody gives up.
const PATIENCE: u32 = 150;

/// What brings the sign: each set of parts by itself, with the chance that it shows on a drive, in percent. An empty set is
/// something that no part has to do with.
#[derive(Debug, Clone)]
struct Truth(Vec<(Parts, usize)>);

impl Truth {
    fn shows(&self, dice: &mut Dice, parts_in: Parts) -> bool {
        // Each cause has a drive of its own luck.
        let came: Vec<bool> =
            self.0.iter().map(|(set, rate)| set & !parts_in == 0 && dice.below(100) < *rate).collect();
        came.contains(&true)
    }

    /// What must be named; parts that are always in cannot be told from what is beside them.
    fn cause(&self, fixed: Parts) -> Cause {
        let sets: Vec<Parts> = self.0.iter().map(|(set, _)| set & !fixed).collect();
        match sets.as_slice() {
            [a, b] => Cause::either(*a, *b),
            [a] => Cause::together(*a),
            _ => unreachable!("one set or two are planted"),
        }
    }
}

/// What brings the sign: a name for it, and the sets of parts of one play.
type Kind = (&'static str, fn(&mut Dice, usize) -> Vec<Parts>);

/// What came of many plays of one kind.
#[derive(Debug, Default)]
struct Outcome {
    right: u32,
    wrong: u32,
    gave_up: u32,
    drives: u32,
    moves: u32,
}

fn plays() -> usize {
    std::env::var("ASFOUND_PLAYS").ok().and_then(|plays| plays.parse().ok()).unwrap_or(40)
}

/// Weights as scores give them: most small, a few large.
fn weights(dice: &mut Dice, count: usize) -> Vec<f64> {
    let weight = |dice: &mut Dice| 5 + dice.below(12) + if dice.one_in(4) { 20 + dice.below(40) } else { 0 };
    (0..count).map(|_| f64::from(u32::try_from(weight(dice)).expect("a small number"))).collect()
}

fn some(dice: &mut Dice, count: usize, size: usize) -> Parts {
    let mut set: Parts = 0;
    while usize::try_from(set.count_ones()).unwrap() < size {
        set |= 1 << dice.below(count);
    }
    set
}

/// Follows what is proposed, now and then something else, until a cause is confirmed or patience ends.
fn play(dice: &mut Dice, weights: &[f64], fixed: Parts, truth: &Truth) -> (Narrowing, u32, u32) {
    let all: Parts = (1 << weights.len()) - 1;
    let mut narrowing = Narrowing::new(weights, fixed);
    narrowing.came_with(all);
    let (mut now, mut drives, mut moves) = (all, 0, 0);
    while drives < PATIENCE {
        let proposals = narrowing.proposals(now);
        let Some(next) = proposals.first().copied() else { break };
        assert_eq!(next & fixed, now & fixed, "what is not experimented with stays");
        let next = if dice.one_in(12) { some(dice, weights.len(), weights.len() / 2) | fixed } else { next };
        moves += u32::from(next != now);
        narrowing = narrowing.after(next, truth.shows(dice, next));
        (now, drives) = (next, drives + 1);
    }
    (narrowing, drives, moves)
}

fn measure(name: &str, seed: u64, mut plant: impl FnMut(&mut Dice, usize) -> Truth) -> Outcome {
    let mut dice = Dice::new(seed);
    let mut outcome = Outcome::default();
    for _ in 0..plays() {
        let count = 3 + dice.below(7);
        let weights = weights(&mut dice, count);
        let fixed = if dice.one_in(4) { 1 << dice.below(count) } else { 0 };
        let truth = plant(&mut dice, count);
        let (narrowing, drives, moves) = play(&mut dice, &weights, fixed, &truth);
        outcome.drives += drives;
        outcome.moves += moves;
        match narrowing.confirmed() {
            Some(cause) if cause == truth.cause(fixed) => outcome.right += 1,
            Some(cause) => {
                assert!(truth.0.iter().any(|(_, rate)| *rate < 100), "{cause:?} for {truth:?}, fixed {fixed:b}");
                outcome.wrong += 1;
            }
            None => outcome.gave_up += 1,
        }
    }
    let count = f64::from(u32::try_from(plays()).unwrap());
    let (drives, moves) = (f64::from(outcome.drives) / count, f64::from(outcome.moves) / count);
    println!(
        "{name:<40} right {:>5} wrong {:>3} open {:>4}   drives {drives:>5.1}   put-backs {moves:>4.1}",
        outcome.right, outcome.wrong, outcome.gave_up
    );
    outcome
}

/// What always shows is never named wrongly, and always found.
#[test]
fn what_shows_on_every_drive_is_found() {
    let always = |sets: &[Parts]| Truth(sets.iter().map(|set| (*set, 100)).collect());
    let kinds: [Kind; 6] = [
        ("one", |dice, count| vec![some(dice, count, 1)]),
        ("two together", |dice, count| vec![some(dice, count, 2)]),
        ("three together", |dice, count| vec![some(dice, count, 3)]),
        ("either of two", |dice, count| {
            let both = some(dice, count, 2);
            vec![1 << both.trailing_zeros(), both & (both - 1)]
        }),
        ("none", |_, _| vec![0]),
        ("one, or two others together", |dice, count| {
            let three = some(dice, count, 3);
            vec![1 << three.trailing_zeros(), three & (three - 1)]
        }),
    ];
    for (seed, (name, sets)) in (1..).zip(kinds) {
        let outcome = measure(name, seed, |dice, count| always(&sets(dice, count)));
        assert_eq!((outcome.wrong, outcome.gave_up), (0, 0), "{name}");
    }
}

/// What comes and goes is named wrongly no more often than once in a hundred plays.
#[test]
fn what_comes_and_goes_is_hardly_ever_named_wrongly() {
    let kinds: [Kind; 5] = [
        ("one", |dice, count| vec![some(dice, count, 1)]),
        ("two together", |dice, count| vec![some(dice, count, 2)]),
        ("three together", |dice, count| vec![some(dice, count, 3)]),
        ("either of two", |dice, count| {
            let both = some(dice, count, 2);
            vec![1 << both.trailing_zeros(), both & (both - 1)]
        }),
        ("none", |_, _| vec![0]),
    ];
    let mut seed = 100;
    for rate in [80, 50] {
        for (name, sets) in kinds {
            seed += 1;
            let name = format!("{name}, on {rate} % of drives");
            let outcome = measure(&name, seed, |dice, count| {
                Truth(sets(dice, count).into_iter().map(|set| (set, rate)).collect())
            });
            let most = (plays() / 100).max(1);
            assert!(usize::try_from(outcome.wrong).unwrap() <= most, "{name}: {outcome:?}");
        }
    }
}
