//! How many drives narrowing down needs, held against the entropy bound.
//!
//! `cargo bench -p asfound-core --bench narrowing` prints the figures; with `-- --record` it also writes them into
//! `docs/performance.md`, between the marks of its own section.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use asfound_core::suspects::{Cause, Narrowing, NarrowingFinding, Parts};

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

/// What was played of one kind, weighed by how likely it was beforehand.
#[derive(Default, Clone, Copy)]
struct Sum {
    likelihood: f64,
    probable: f64,
    certain: f64,
    bound: f64,
}

impl Sum {
    fn add(&mut self, likelihood: f64, probable: u32, certain: u32) {
        self.likelihood += likelihood;
        self.probable += likelihood * f64::from(probable);
        self.certain += likelihood * f64::from(certain);
        self.bound -= likelihood * likelihood.log2();
    }

    fn row(&self, name: &str) -> String {
        let mean = |sum: f64| sum / self.likelihood;
        format!("| {name} | {:.2} | {:.2} | {:.2} |", mean(self.probable), mean(self.bound), mean(self.certain))
    }
}

/// Everything that was played.
#[derive(Default)]
struct Played {
    all: Sum,
    kinds: [Sum; 4],
    wrong: u32,
    plays: u32,
    slowest: Duration,
}

/// The kind of a cause, by its place in the table.
fn kind(cause: Cause) -> usize {
    let sets: Vec<u32> = cause.sets().map(|set| set.count_ones()).collect();
    match sets.as_slice() {
        [0] => 0,
        [1] => 1,
        [_] => 2,
        _ => 3,
    }
}

/// Plays a journal until a cause is certain, with a sign that shows on every drive on which it can; on which drive the cause
/// became probable for good, and on which it was certain.
fn play(start: &Narrowing, all: Parts, planted: Cause, slowest: &mut Duration) -> (u32, u32, bool) {
    let (mut left, mut now, mut drives, mut probable) = (start.clone(), all, 0, 0);
    loop {
        let begin = Instant::now();
        let next = left.proposals(now).first().copied();
        *slowest = (*slowest).max(begin.elapsed());
        let Some(next) = next else { return (probable, drives, left.confirmed() == Some(planted)) };
        left = left.after(next, planted.acts_with(next));
        (now, drives) = (next, drives + 1);
        if left.finding() != NarrowingFinding::Probable(planted) {
            probable = drives + 1;
        }
    }
}

fn report() -> String {
    let mut dice = Dice(0x5EED_1234_ABCD);
    let mut total = Played::default();
    let mut rows = String::new();
    for (count, journals) in [(3, 20), (4, 20), (6, 10), (8, 5), (12, 2), (16, 1), (32, 1), (100, 1)] {
        let mut played = Played::default();
        for _ in 0..journals {
            let mut narrowing = Narrowing::new(&weights(&mut dice, count), 0);
            let all: Parts = (0..count).fold(0, |set, at| set | 1 << at);
            narrowing.came_with(all);
            let mut planted: Vec<(Cause, f64)> = narrowing.causes().collect();
            // Of many causes the rarest are left to chance.
            while planted.len() > 300 {
                planted
                    .swap_remove(usize::try_from(dice.below(u32::try_from(planted.len()).expect("few"))).expect("few"));
            }
            for (cause, likelihood) in planted {
                let (probable, certain, right) = play(&narrowing, all, cause, &mut played.slowest);
                for sum in [&mut played, &mut total] {
                    sum.all.add(likelihood, probable, certain);
                    sum.kinds[kind(cause)].add(likelihood, probable, certain);
                    sum.wrong += u32::from(!right);
                    sum.plays += 1;
                }
            }
        }
        let slowest = played.slowest.as_millis();
        writeln!(rows, "{} {slowest} ms |", played.all.row(&format!("{count} entries, {journals} journals")))
            .expect("writing to a string");
    }
    writeln!(rows, "{} |", total.all.row("**all**")).expect("writing to a string");
    let names = ["nothing", "one entry", "several together", "either of two"];
    let kinds = names.iter().zip(&total.kinds).fold(String::new(), |text, (name, sum)| text + &sum.row(name) + "\n");
    format!(
        "{BEGIN}\n## Narrowing a trouble code down\n\n\
         `cargo bench -p asfound-core --bench narrowing -- --record` wrote this section. In every random journal each cause that is \
         held\npossible, or 300 of them, was planted once ({} plays, {} wrong answers), with a code that shows on every drive \
         on which it\ncan; means are weighed by how likely each was held. A cause is *probable* from the drive on after which it is \
         named for good,\nand *certain* once it was alone out and alone in often enough \
         ([trouble-codes.md](trouble-codes.md)). The bound is the entropy\nof the causes in bits: no way of asking tells them apart \
         with fewer drives on average.\n\n\
         | journals | probable after | entropy bound | certain after | slowest proposal |\n| --- | --- | --- | --- | --- |\n{rows}\n\
         | planted | probable after | its bound | certain after |\n| --- | --- | --- | --- |\n{kinds}{END}\n",
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
