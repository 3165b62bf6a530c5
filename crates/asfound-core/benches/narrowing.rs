//! How many rounds weighted halving needs, held against the entropy bound.
//!
//! `cargo bench -p asfound-core --bench narrowing` prints the figures; with `-- --record` it also writes them into
//! `docs/performance.md`, between the marks of its own section.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use asfound_core::suspects::{Finding, Narrowing, Parts};

const BEGIN: &str = "<!-- narrowing: begin -->";
const END: &str = "<!-- narrowing: end -->";

/// Numbers that are the same in every run (xorshift).
struct Dice(u64);

impl Dice {
    fn below(&mut self, sides: u32) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        u32::try_from(self.0 >> 40).expect("24 bits fit") % sides
    }
}

/// Weights as scores give them: most small, a few large.
fn weights(dice: &mut Dice, count: usize) -> Vec<f64> {
    let weight = |dice: &mut Dice| 5 + dice.below(12) + if dice.below(4) == 0 { 20 + dice.below(40) } else { 0 };
    (0..count).map(|_| f64::from(weight(dice))).collect()
}

/// What was played of one kind: likelihood, rounds and bound, the last two weighed by the likelihood.
#[derive(Default, Clone, Copy)]
struct Sum {
    likelihood: f64,
    rounds: f64,
    bound: f64,
}

impl Sum {
    fn add(&mut self, likelihood: f64, rounds: u32) {
        self.likelihood += likelihood;
        self.rounds += likelihood * f64::from(rounds);
        self.bound -= likelihood * likelihood.log2();
    }

    fn row(&self, name: &str) -> String {
        let (rounds, bound) = (self.rounds / self.likelihood, self.bound / self.likelihood);
        format!("| {name} | {rounds:.2} | {bound:.2} | {:+.1} % |", (rounds / bound - 1.0) * 100.0)
    }
}

/// Everything that was played.
#[derive(Default)]
struct Played {
    all: Sum,
    kinds: [Sum; 3],
    wrong: u32,
    plays: u32,
    slowest: Duration,
}

/// Plays a journal to its end for every answer at once: what is planted only decides which way each round goes.
fn play(left: &Narrowing, now: Parts, rounds: u32, planted: &[(Parts, f64)], into: &mut [&mut Played; 2]) {
    let start = Instant::now();
    let next = left.proposals(now).first().copied();
    into.iter_mut().for_each(|played| played.slowest = played.slowest.max(start.elapsed()));
    if let Some(next) = next {
        let (there, away): (Vec<_>, Vec<_>) = planted.iter().partition(|(planted, _)| planted & !next == 0);
        play(&left.after(next, true), next, rounds + 1, &there, into);
        play(&left.after(next, false), next, rounds + 1, &away, into);
        return;
    }
    let named: Parts = match left.finding() {
        Finding::One(a) => 1 << a,
        Finding::Pair(a, b) => 1 << a | 1 << b,
        Finding::None => 0,
        Finding::Open | Finding::Contradiction => Parts::MAX,
    };
    for (planted, likelihood) in planted {
        for played in into.iter_mut() {
            played.all.add(*likelihood, rounds);
            played.kinds[usize::try_from(planted.count_ones()).expect("at most two")].add(*likelihood, rounds);
            played.wrong += u32::from(named != *planted);
            played.plays += 1;
        }
    }
}

fn report() -> String {
    let mut dice = Dice(0x5EED_1234_ABCD);
    let mut total = Played::default();
    let mut rows = String::new();
    for (count, journals) in [(3, 40), (4, 40), (6, 40), (8, 40), (12, 20), (16, 10), (24, 5), (32, 3), (48, 1)] {
        let mut played = Played::default();
        for _ in 0..journals {
            let narrowing = Narrowing::new(&weights(&mut dice, count), 0);
            let planted: Vec<(Parts, f64)> = narrowing.answers().collect();
            play(&narrowing, (1 << count) - 1, 0, &planted, &mut [&mut played, &mut total]);
        }
        let slowest = played.slowest.as_millis();
        writeln!(rows, "{} {slowest} ms |", played.all.row(&format!("{count} entries, {journals} journals")))
            .expect("writing to a string");
    }
    writeln!(rows, "{} |", total.all.row("**all**")).expect("writing to a string");
    let kinds = ["nothing", "one entry", "two entries together"].iter().zip(&total.kinds);
    let kinds = kinds.fold(String::new(), |text, (name, sum)| text + &sum.row(name) + "\n");
    format!(
        "{BEGIN}\n## Narrowing a trouble code down\n\n\
         `cargo bench -p asfound-core --bench narrowing -- --record` wrote this section. In every random journal each single \
         entry, each\npair and nothing at all was planted once ({} plays, {} wrong answers); means are weighed by how likely \
         each was, so that\nthey are exact for these journals. The bound is the entropy of the answers in bits: no way of \
         asking needs fewer rounds\non average. With few entries a round cannot be split evenly, and the bound cannot be reached \
         by anybody.\nThe bound of one kind is what its answers say, in bits; only the mean over all kinds cannot fall below \
         it.\n\n\
         | journals | rounds | entropy bound | above | slowest proposal |\n| --- | --- | --- | --- | --- |\n{rows}\n\
         | planted | rounds | its bound | above |\n| --- | --- | --- | --- |\n{kinds}{END}\n",
        total.plays, total.wrong,
    )
}

/// Puts the section into the page, in place of its earlier one, or behind everything else.
fn record(section: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/performance.md");
    let page = std::fs::read_to_string(&path).unwrap_or_else(|_| "# Performance\n\n".to_owned());
    let page = match (page.find(BEGIN), page.find(END)) {
        (Some(begin), Some(end)) => {
            let rest = page[end + END.len()..].trim_start_matches('\n');
            let rest = if rest.is_empty() { String::new() } else { format!("\n{rest}") };
            format!("{}{section}{rest}", &page[..begin])
        }
        _ => format!("{}\n\n{section}", page.trim_end()),
    };
    std::fs::write(&path, page).expect("the page can be written");
}

fn main() {
    let section = report();
    std::io::stdout().write_all(section.as_bytes()).expect("standard output can be written");
    if std::env::args().any(|argument| argument == "--record") {
        record(&section);
    }
}
