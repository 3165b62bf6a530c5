//! Weighted halving against simulation: rounds against the entropy bound, and no wrong answer ever.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]

mod support;

use asfound_core::suspects::{Finding, Narrowing, Parts};
use support::Dice;

/// Plays rounds until nothing is open; the number of rounds and what was found. The sign is there when all planted
/// parts are in; parts in `fixed` always are.
fn play(start: &Narrowing, count: usize, planted: Parts, fixed: Parts) -> (u32, Finding) {
    let (mut narrowing, mut now, mut rounds) = (start.clone(), (1 << count) - 1, 0);
    while let Some(next) = narrowing.proposals(now).first().copied() {
        assert_eq!(next & fixed, fixed, "what is not experimented with stays in");
        narrowing = narrowing.after(next, planted & !next == 0);
        (now, rounds) = (next, rounds + 1);
        assert!(rounds < 200, "it ends");
    }
    (rounds, narrowing.finding())
}

/// The finding that a planted set must end with; parts that are always in cannot be told from what is beside them.
fn due(planted: Parts, fixed: Parts) -> Finding {
    let told = planted & !fixed;
    let low = usize::try_from(told.trailing_zeros()).unwrap();
    match told.count_ones() {
        0 => Finding::None,
        1 => Finding::One(low),
        _ => Finding::Pair(low, usize::try_from(told.ilog2()).unwrap()),
    }
}

/// Weights as scores give them: most small, a few large.
fn weights(dice: &mut Dice, count: usize) -> Vec<f64> {
    let weight = |dice: &mut Dice| 5 + dice.below(12) + if dice.one_in(4) { 20 + dice.below(40) } else { 0 };
    (0..count).map(|_| f64::from(u32::try_from(weight(dice)).expect("a small number"))).collect()
}

/// In every journal every single entry, every pair and nothing at all is planted once; what comes out is weighed by how
/// likely it was. The mean is therefore exact for these journals.
#[test]
fn the_mean_number_of_rounds_is_within_a_tenth_of_the_entropy_bound_and_no_answer_is_wrong() {
    let mut dice = Dice::new(14);
    let (mut rounds, mut bound) = (0.0, 0.0);
    for journal in 0..24 {
        let count = 4 + journal % 11;
        let narrowing = Narrowing::new(&weights(&mut dice, count), 0);
        bound += narrowing.entropy();
        for (planted, likelihood) in narrowing.answers() {
            let (played, found) = play(&narrowing, count, planted, 0);
            assert_eq!(found, due(planted, 0), "planted {planted:b} of {count}");
            rounds += likelihood * f64::from(played);
        }
    }
    assert!(rounds <= bound * 1.10, "{rounds:.3} rounds, the bound is {bound:.3}");
    assert!(rounds >= bound, "fewer rounds than the bound: the figure cannot be right");
}

#[test]
fn what_is_not_experimented_with_is_never_named_and_never_moved() {
    let mut dice = Dice::new(15);
    for journal in 0..20 {
        let count = 2 + journal % 8;
        let fixed = Parts::try_from(dice.below(1 << count)).unwrap();
        let narrowing = Narrowing::new(&weights(&mut dice, count), fixed);
        let pairs = (0..count).flat_map(|a| (0..=a).map(move |b| 1 << a | 1 << b));
        for planted in pairs.chain([0]) {
            let (_, found) = play(&narrowing, count, planted, fixed);
            assert_eq!(found, due(planted, fixed), "planted {planted:b} of {count}, fixed {fixed:b}");
        }
    }
}

/// Three parts together are nothing that the procedure knows of: what it names then is never confirmed, and the round that
/// should confirm it shows that nothing fits. What is confirmed is right.
#[test]
fn what_is_confirmed_holds_whatever_stands_behind_it() {
    let mut dice = Dice::new(16);
    let mut unconfirmed = 0;
    for _ in 0..80 {
        let count = 5 + dice.below(6);
        let mut narrowing = Narrowing::new(&weights(&mut dice, count), 0);
        let (a, b, c) = (dice.below(count), dice.below(count), dice.below(count));
        let planted: Parts = 1 << a | 1 << b | 1 << c;
        let mut now = (1 << count) - 1;
        while let Some(next) = narrowing.proposals(now).first().copied() {
            narrowing = narrowing.after(next, planted & !next == 0);
            now = next;
        }
        if let Some(next) = narrowing.to_confirm().filter(|_| narrowing.finding() != Finding::Contradiction) {
            unconfirmed += 1;
            narrowing = narrowing.after(next, planted & !next == 0);
        }
        match narrowing.finding() {
            Finding::Contradiction => assert_eq!(planted.count_ones(), 3),
            found => {
                assert!(narrowing.is_confirmed(), "{found:?}");
                assert_eq!(found, due(planted, 0));
            }
        }
    }
    assert!(unconfirmed > 0, "the round that makes sure was never needed");
}

/// Rounds that fit nothing are said to fit nothing.
#[test]
fn a_sign_that_comes_and_goes_is_a_contradiction() {
    let narrowing = Narrowing::new(&[1.0, 1.0, 1.0], 0);
    assert_eq!(narrowing.finding(), Finding::Open);
    assert_eq!(narrowing.after(0b111, false).finding(), Finding::Contradiction);
    assert_eq!(narrowing.after(0b001, true).after(0b001, false).finding(), Finding::Contradiction);
    assert_eq!(narrowing.after(0, true).finding(), Finding::None);
}
