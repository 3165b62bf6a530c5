//! Measures the planner and writes the planner's section of `docs/performance.md` with its chart.
//!
//! `cargo bench -p asfound-core --bench planner` measures and writes; without `--bench`, as `cargo test --benches` runs it, it
//! only makes sure that everything that is measured works.

#![allow(clippy::print_stdout, reason = "a benchmark says what it does")]

mod page;
mod vehicles;

use std::time::{Duration, Instant};

use asfound_core::entry::Entry;
use asfound_core::history::History;
use asfound_core::names::EntryNumber;
use asfound_core::plan::{PutBackWish, acknowledge, plan, put_back};
use vehicles::{Made, Size};

/// What was measured for one vehicle and one length of journal; medians.
pub struct Row {
    /// How large the vehicle is.
    pub size: Size,
    /// How many entries the journal has.
    pub entries: usize,
    /// Tracing the history of the journal.
    pub trace: Duration,
    /// Planning to set every setting, the history traced before.
    pub set: Duration,
    /// How many steps that plan has.
    pub set_steps: usize,
    /// Planning to take every entry back, wish and plan, the history traced before.
    pub back: Duration,
    /// How many steps that plan has.
    pub back_steps: usize,
}

/// The median of several runs: at least five, and as many more as fit into half a second.
fn median<T>(once: bool, run: impl Fn() -> T) -> (Duration, T) {
    let mut took = Vec::new();
    let begun = Instant::now();
    loop {
        let start = Instant::now();
        let made = run();
        took.push(start.elapsed());
        if once || took.len() >= 5 && (begun.elapsed() > Duration::from_millis(500) || took.len() >= 101) {
            took.sort();
            return (took[took.len() / 2], made);
        }
    }
}

fn measure(size: Size, length: usize, once: bool) -> Row {
    let mut made = Made::new(size);
    let entries = made.journal(length);
    let definitions = &made.definitions;
    let traced = |entries: &[Entry]| History::trace(entries, definitions).expect("the journal can be traced");
    let (trace, history) = median(once, || traced(&entries[..]));
    let raise = made.raise();
    let (set, raised) = median(once, || plan(&history, definitions, &raise).expect("there is a plan"));
    assert!(raised.blocked.is_empty() && raised.broken_before.is_empty());
    assert_eq!(raised.steps.iter().filter(|step| step.intermediate.is_some()).count(), size.knots);
    let entries = made.done(entries, acknowledge(&raised, &[]).expect("nothing of it is restricted").work());
    let history = traced(&entries);
    let last = u32::try_from(entries.len()).expect("a journal");
    // What was put back before is not taken back again: that would make it anew.
    let all = (1..=last).filter_map(EntryNumber::new);
    let all = all.filter(|entry| entries[entry.get() as usize - 1].body.kind() == "change").collect();
    let wish = PutBackWish { entries: all, ..PutBackWish::default() };
    let (back, taken) = median(once, || {
        let targets = put_back(&history, &wish).expect("nothing is in the way");
        plan(&history, definitions, &targets).expect("there is a plan")
    });
    let (set_steps, back_steps) = (raised.steps.len(), taken.steps.len());
    Row { size, entries: length, trace, set, set_steps, back, back_steps }
}

/// A vehicle with two rules for three settings, and for each hundred settings one knot.
fn size(settings: usize) -> Size {
    let modules = (settings * 2).div_ceil(15);
    Size { settings, modules, rules: settings * 2 / 3, knots: settings / 100 }
}

fn main() {
    let all = std::env::args().any(|argument| argument == "--bench");
    let (settings, lengths): (&[usize], &[usize]) =
        if all { (&[10, 100, 300, 1_000], &[100, 1_000, 10_000, 100_000]) } else { (&[10, 100], &[100]) };
    let mut rows = Vec::new();
    for settings in settings {
        for length in lengths {
            let row = measure(size(*settings), *length, !all);
            println!(
                "{settings} settings, {length} entries: traced in {:?}; {} steps planned in {:?}, back {} in {:?}",
                row.trace, row.set_steps, row.set, row.back_steps, row.back
            );
            rows.push(row);
        }
    }
    if all {
        page::write(&rows);
    }
}
