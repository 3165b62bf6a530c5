//! Narrowing down through whole journals, held against cars that know nothing of it: random histories, owners who do
//! not always do as they are told, and codes that come as they will.
//!
//! `ASFOUND_PLAYS` sets how many plays each kind of truth gets; `-- --nocapture` shows what was measured.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "how many are played is asked of the test, and told by it"
)]

#[path = "../support/mod.rs"]
mod support;

mod car;
mod owner;

use std::collections::BTreeSet;

use asfound_core::suspects::{Cause, NarrowingFinding, NarrowingState, Parts};
use car::{Car, Condition};
use owner::Owner;
use support::Dice;

/// How many sets of conditions are planted, of how many conditions each.
type Kind = (&'static str, &'static [usize]);

const KINDS: [Kind; 6] = [
    ("one", &[1]),
    ("two together", &[2]),
    ("three together", &[3]),
    ("either of two", &[1, 1]),
    ("one, or two others together", &[1, 2]),
    ("none", &[]),
];

#[derive(Debug, Default)]
struct Outcome {
    right: usize,
    wrong: usize,
    /// Nothing was confirmed in as many drives as somebody has patience for.
    open: usize,
    /// Nothing can be told until somebody else does something, and the screen says what.
    stopped: usize,
    drives: u32,
    /// How often so many entries or groups of them were named.
    named: [usize; 5],
}

fn plays() -> usize {
    std::env::var("ASFOUND_PLAYS").ok().and_then(|plays| plays.parse().ok()).unwrap_or(6)
}

/// What must be named: of each set of conditions the parts that hold their fields, and nothing else.
fn due(narrowed: &NarrowingState, sets: &[Vec<Condition>]) -> Cause {
    let part_of = |condition: &Condition| -> Parts {
        let holds = |part: &&asfound_core::suspects::SuspectGroup| {
            part.fields.iter().any(|it| it.to_string() == condition.field)
        };
        // Where a code that comes and goes stayed away after its cause came, the cause is before the window: nothing in it is to be
        // named.
        let at = narrowed.parts.iter().position(|part| holds(&part));
        at.filter(|at| narrowed.parts[*at].not_tried.is_none()).map_or(0, |at| 1 << at)
    };
    let parts = |set: &Vec<Condition>| set.iter().map(part_of).fold(0, |all, part| all | part);
    match sets {
        [] => Cause::NONE,
        [one] => Cause::together(parts(one)),
        [a, b] => Cause::either(parts(a), parts(b)),
        _ => unreachable!("two sets at most"),
    }
}

/// How a play ended.
enum End {
    /// So many parts were named, rightly or not.
    Named(bool, u32),
    Open,
    Stopped,
}

fn play(dice: &mut Dice, sizes: &[usize], rate: usize) -> (End, u32) {
    let mut car = Car::new(dice);
    let mut owner = Owner::new(dice);
    let altered = owner.live(dice, &mut car);
    car.plant(dice, &altered, sizes, rate);
    owner.drive_until_it_comes(dice, &mut car);
    let (mut rounds, mut stopped) = (0, false);
    while rounds < 400 && car.drives < 200 {
        let narrowed = owner.ask();
        if narrowed.confirmed {
            let NarrowingFinding::Probable(found) = narrowed.finding else { panic!("what is confirmed is probable") };
            let wanted = due(&narrowed, &car.causes);
            let named: BTreeSet<_> = narrowed.entries(found.parts());
            assert!(narrowed.next.is_none(), "nothing is left to do");
            assert!(
                found == wanted || rate < 100,
                "{found:?} ({named:?}), not {wanted:?}: {:#?}\n{narrowed:#?}",
                car.causes
            );
            return (End::Named(found == wanted, found.parts().count_ones()), car.drives);
        }
        if narrowed.next.is_none() && narrowed.stopped.is_none() {
            assert!(narrowed.parts.iter().all(|part| part.not_tried.is_some()), "{narrowed:#?}");
            return (End::Stopped, car.drives);
        }
        stopped = narrowed.next.is_none();
        owner.round(dice, &mut car, &narrowed);
        rounds += 1;
    }
    (if stopped { End::Stopped } else { End::Open }, car.drives)
}

fn measure(name: &str, seed: u64, sizes: &[usize], rate: usize) -> Outcome {
    let mut dice = Dice::new(seed);
    let mut outcome = Outcome::default();
    for _ in 0..plays() {
        let (end, drives) = play(&mut dice, sizes, rate);
        outcome.drives += drives;
        match end {
            End::Named(right, named) => {
                outcome.named[usize::try_from(named).unwrap().min(4)] += 1;
                *(if right { &mut outcome.right } else { &mut outcome.wrong }) += 1;
            }
            End::Open => outcome.open += 1,
            End::Stopped => outcome.stopped += 1,
        }
    }
    let drives = f64::from(outcome.drives) / f64::from(u32::try_from(plays()).unwrap());
    let Outcome { right, wrong, open, stopped, named, .. } = outcome;
    println!(
        "{name:<30} {rate:>3} %   right {right:>5} wrong {wrong:>3} open {open:>4} stopped {stopped:>3}   \
         drives {drives:>5.1}   parts named {named:?}"
    );
    outcome
}

#[test]
fn what_shows_on_every_drive_is_never_named_wrongly() {
    let mut found = 0;
    for (seed, (name, sizes)) in (1..).zip(KINDS) {
        let outcome = measure(name, seed, sizes, 100);
        assert_eq!(outcome.wrong, 0, "{name}");
        found += outcome.right;
    }
    assert!(found * 10 >= KINDS.len() * plays() * 8, "{found}: most are found");
}

#[test]
fn what_comes_and_goes_is_hardly_ever_named_wrongly() {
    for (seed, rate) in [(20, 80), (40, 50)] {
        for (place, (name, sizes)) in (seed..).zip(KINDS) {
            let outcome = measure(name, place, sizes, rate);
            assert!(outcome.wrong <= (plays() / 100).max(1), "{name}, {rate} %: {outcome:?}");
        }
    }
}
