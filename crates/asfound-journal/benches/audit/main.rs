//! Audit beside `git fsck`, on the same repository, in one run.
//!
//! ```sh
//! cargo bench -p asfound-journal --bench audit              # 10,000 entries, prints a table
//! cargo bench -p asfound-journal --bench audit -- --write   # also rewrites its part of docs/performance.md
//! ```
//!
//! Makes a garage in a temporary folder: one vehicle of 30 modules, each with a definition, and an entry for each change of one
//! record. The same entries are measured as loose objects and packed by `git gc`, the two programs in turn, each as a process of its own.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a benchmark prints what it measured, and stops where it fails"
)]

mod garage;
mod git;
mod measure;

use std::path::Path;
use std::time::Duration;

use measure::{Measured, Runs};

const RUNS: usize = 5;

/// The allocator of the program.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // `cargo test --all-targets` starts it too, without this.
    if !arguments.iter().any(|argument| argument == "--bench") {
        return;
    }
    if let Some([place, entries, threads]) = arguments.strip_prefix(&[measure::ALONE.to_owned(), "--bench".to_owned()])
    {
        return measure::check(Path::new(place), entries.parse().unwrap(), threads.parse().unwrap());
    }
    let entries = arguments
        .iter()
        .find_map(|argument| argument.strip_prefix("--entries="))
        .map_or(10_000, |n| n.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("garage");
    garage::build(&place, entries);
    let repository = place.join("journals.git");

    // As the program leaves them, then as `git gc` packs them.
    let mut rows = Vec::new();
    git::unpack(&repository);
    rows.push(("loose", git::size(&repository), measure::in_turn(&place, RUNS, entries)));
    git::git(&repository, &["gc", "--quiet", "--prune=now"]);
    rows.push(("packed", git::size(&repository), measure::in_turn(&place, RUNS, entries)));
    rows.reverse();

    let text = section(entries, &rows);
    println!("{text}");
    if arguments.iter().any(|argument| argument == "--write") {
        let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/performance.md");
        let before = std::fs::read_to_string(&page).unwrap();
        std::fs::write(&page, replaced(&before, &text)).unwrap();
    }
}

const BEGIN: &str = "<!-- audit: written by `cargo bench -p asfound-journal --bench audit -- --write` -->\n";
const END: &str = "<!-- audit: end -->\n";

fn replaced(page: &str, text: &str) -> String {
    let (before, rest) = page.split_once(BEGIN).unwrap();
    let (_, after) = rest.split_once(END).unwrap();
    format!("{before}{BEGIN}{text}{END}{after}")
}

fn section(entries: u32, rows: &[(&str, u64, Measured)]) -> String {
    let mut text = format!(
        "{} entries of one vehicle of {} modules, {RUNS} runs in turn: the median in milliseconds, the fastest in brackets, \
         and the processor time of the median run.\n\n\
         | objects | size | `git fsck` | audit, one thread | audit, {} threads | fsck / audit |\n\
         | --- | --- | --- | --- | --- | --- |\n",
        grouped(u64::from(entries)),
        garage::MODULES,
        measure::threads(),
    );
    for (name, size, Measured { fsck, alone, audit }) in rows {
        text.push_str(&format!(
            "| {name} | {} MB | {} | {} | {} | {:.2} |\n",
            size / 1_000_000,
            cell(fsck),
            cell(alone),
            cell(audit),
            fsck.median().elapsed.as_secs_f64() / audit.median().elapsed.as_secs_f64(),
        ));
    }
    text.push_str(&format!("\n{}\n", git::machine()));
    text
}

fn cell(runs: &Runs) -> String {
    let ms = |time: Duration| grouped(u64::try_from(time.as_millis()).unwrap());
    let processor = runs.median().processor.map(|time| format!(", processor {}", ms(time))).unwrap_or_default();
    format!("{} ({}){processor}", ms(runs.median().elapsed), ms(runs.fastest().elapsed))
}

fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
