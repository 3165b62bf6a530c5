//! Audit beside `git fsck`, on the same repository, in one run.
//!
//! ```sh
//! cargo bench -p asfound-journal --bench audit              # 10,000 entries, prints a table
//! cargo bench -p asfound-journal --bench audit -- --write   # also rewrites its part of docs/performance.md
//! ```
//!
//! Makes a garage in a temporary folder: one vehicle of 30 modules, each with a definition, and an entry for each change of one
//! record. The same entries are measured as loose objects and packed by `git gc`, the two programs in turn.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a benchmark prints what it measured, and stops where it fails"
)]

mod garage;
mod measure;

use std::path::Path;

use measure::Measured;

const RUNS: usize = 5;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // `cargo test --all-targets` starts it too, without this.
    if !arguments.iter().any(|argument| argument == "--bench") {
        return;
    }
    let entries = arguments
        .iter()
        .find_map(|argument| argument.strip_prefix("--entries="))
        .map_or(10_000, |n| n.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("garage");
    garage::build(&place, entries);
    let repository = place.join("journals.git");

    let mut rows = Vec::new();
    measure::git(&repository, &["gc", "--quiet"]);
    rows.push(("packed", measure::size(&repository), measure::in_turn(&place, RUNS, entries)));
    measure::unpack(&repository);
    rows.push(("loose", measure::size(&repository), measure::in_turn(&place, RUNS, entries)));

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
        "{} entries of one vehicle of {} modules, {RUNS} runs each in turn; median, and the fastest in brackets.\n\n\
         | objects | size | `git fsck` | audit, one thread | audit, {} threads | fsck / audit |\n\
         | --- | --- | --- | --- | --- | --- |\n",
        grouped(u64::from(entries)),
        garage::MODULES,
        measure::threads(),
    );
    for (name, size, Measured { fsck, alone, audit }) in rows {
        text.push_str(&format!(
            "| {name} | {} MB | {} ms ({}) | {} ms ({}) | {} ms ({}) | {:.2} |\n",
            size / 1_000_000,
            grouped(fsck.median()),
            grouped(fsck.fastest()),
            grouped(alone.median()),
            grouped(alone.fastest()),
            grouped(audit.median()),
            grouped(audit.fastest()),
            fsck.median_exact() / audit.median_exact(),
        ));
    }
    text.push_str(&format!("\n{}\n", measure::machine()));
    text
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
