//! The program beside git and `sqlite3`, each as a process of its own, on the same journals, in one run.
//!
//! ```sh
//! cargo bench -p asfound --bench fleet                       # 100 and 10,000 entries of one car; prints tables
//! cargo bench -p asfound --bench fleet -- --large --write    # also 100,000, and 10,000 cars of 20; rewrites its part of
//!                                                            # docs/performance.md
//! ```
//!
//! `--only=10000` measures only one car of so many entries, `--only=fleet` only the many cars.
//!
//! `sqlite3` is measured where it is installed: on a table of the same alterations with an index on vehicle and place.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a benchmark prints what it measured, and stops where it fails"
)]

#[path = "../../../asfound-journal/benches/audit/garage.rs"]
mod garage;
#[path = "../../../asfound-journal/benches/audit/git.rs"]
#[allow(dead_code, reason = "the other benchmark uses all of it")]
mod git;
mod measure;
mod sqlite;

use std::path::Path;

use asfound_core::names::DefinitionId;
use asfound_journal::garage::Garage;

use measure::{Command, Shown, asfound, git_on, in_turn, milliseconds, peak};

/// The setting that is asked for, and where git finds it.
const SETTING: &str = "m3.s4_0";
const FILE: &str = "modules/m3.toml";
const LINE: &str = "s4_0";
/// Modules of each car of the fleet.
const FEW: usize = 3;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // `cargo test --all-targets` starts it too, without this.
    if !arguments.iter().any(|argument| argument == "--bench") {
        return;
    }
    let large = arguments.iter().any(|argument| argument == "--large");
    let write = arguments.iter().any(|argument| argument == "--write");
    let only = arguments.iter().find_map(|argument| argument.strip_prefix("--only="));
    let sizes: &[u32] = if large { &[100, 10_000, 100_000] } else { &[100, 10_000] };
    let (cars, each) = if large { (10_000, 20) } else { (200, 20) };

    let mut text = String::new();
    for entries in sizes.iter().filter(|entries| only.is_none_or(|only| only == entries.to_string())) {
        eprintln_progress(&format!("one car of {entries} entries"));
        text.push_str(&one_car(*entries));
    }
    if only.is_none_or(|only| only == "fleet") {
        eprintln_progress(&format!("{cars} cars of {each} entries"));
        text.push_str(&fleet(cars, each));
    }
    text.push_str(&format!("\n{}\n", git::machine()));
    println!("{text}");
    if write {
        let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/performance.md");
        let before = std::fs::read_to_string(&page).unwrap();
        std::fs::write(&page, replaced(&before, &text)).unwrap();
    }
}

#[allow(clippy::print_stderr, reason = "large ones take minutes")]
fn eprintln_progress(what: &str) {
    eprintln!("fleet: {what}");
}

const BEGIN: &str = "<!-- fleet: written by `cargo bench -p asfound --bench fleet -- --large --write` -->\n";
const END: &str = "<!-- fleet: end -->\n";

fn replaced(page: &str, text: &str) -> String {
    let (before, rest) = page.split_once(BEGIN).unwrap();
    let (_, after) = rest.split_once(END).unwrap();
    format!("{before}{BEGIN}{text}{END}{after}")
}

/// Keeps the definitions of so many modules in the garage, where they are in practice.
fn define(place: &Path, modules: usize) {
    let garage = Garage::open(place).unwrap();
    for module in 0..modules {
        let id: DefinitionId = format!("d{module}").parse().unwrap();
        garage.keep_definition(&id, &garage::definition_text(module)).unwrap();
    }
}

fn one_car(entries: u32) -> String {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("garage");
    garage::build(&place, entries);
    define(&place, garage::MODULES);
    let repository = place.join("journals.git");
    git::git(&repository, &["gc", "--quiet", "--prune=now"]);
    let database = sqlite::build(folder.path(), &place, &["wren".to_owned()]);

    let at = (entries / 2).max(2).to_string();
    let git = |arguments: &[&str]| Some(git_on(&repository, arguments));
    let pattern = format!("-G{LINE}");
    let by_path = || git(&["log", "--format=%h", "wren", "--", FILE]);
    let life = [
        Some(asfound(&place, &["entries", "wren", SETTING])),
        by_path(),
        git(&["log", "--format=%h", &pattern, "wren"]),
        git(&["log", "--format=%h", &pattern, "wren", "--", FILE]),
        database.as_deref().map(|file| sqlite::ask(file, &sqlite::life("wren", SETTING))),
    ];
    let all = [
        Some(asfound(&place, &["entries", "wren"])),
        git(&["log", "--format=%h %ad %s", "wren"]),
        None,
        None,
        database.as_deref().map(|file| sqlite::ask(file, &sqlite::entries("wren"))),
    ];
    let settings = [Some(asfound(&place, &["settings", "wren"])), None, None, None, None];
    let earlier = [Some(asfound(&place, &["settings", "wren", "--at", &at])), None, None, None, None];
    let listed = [Some(asfound(&place, &["vehicles"])), git(&["for-each-ref", "refs/heads"]), None, None, None];

    let runs = if entries > 20_000 { 3 } else { 9 };
    // The first question finds no index and makes it.
    let anew = milliseconds(asfound(&place, &["entries", "wren", SETTING]).time());
    let mut text = format!(
        "\n### One car, {} entries\n\nPacked by `git gc` ({} MB); {} modules of 12 records, a change of one record an entry; the \
         setting is in {} entries. The index is {} MB, and was made in {anew}. Median of {runs} runs in turn, in \
         milliseconds, the fastest in brackets.\n\n\
         | question | asfound | `git log` | `git log -G` | `git log -G -- path` | SQLite | asfound's memory |\n\
         | --- | --- | --- | --- | --- | --- | --- |\n",
        grouped(u64::from(entries)),
        millions(git::size(&repository)),
        garage::MODULES,
        measure::lines(&asfound(&place, &["entries", "wren", SETTING, "--json"]), "\"entry\":"),
        millions(git::size(&place.join("index"))),
    );
    for (name, question) in [
        ("life of a setting (`git log -- path`)", life),
        ("all entries", all),
        ("settings", settings),
        ("settings half-way", earlier),
        ("vehicles", listed),
    ] {
        text.push_str(&row(name, &question, runs));
    }
    text
}

fn fleet(cars: usize, each: u32) -> String {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("garage");
    let tags: Vec<String> = (0..cars).map(|n| format!("car-{n:05}")).collect();
    garage::build_fleet(&place, &tags, each, FEW);
    define(&place, FEW);
    let repository = place.join("journals.git");
    // To pack so many objects anew takes git many minutes, and none of the questions below reads them.
    git::git(&repository, &["pack-refs", "--all"]);
    let database = sqlite::build(folder.path(), &place, &tags);
    let git = |arguments: &[&str]| Some(git_on(&repository, arguments));

    let first = milliseconds(asfound(&place, &["vehicles"]).time());
    let searched = milliseconds(asfound(&place, &["find", "m1.s4_0"]).time());
    let vehicles = [
        Some(asfound(&place, &["vehicles"])),
        git(&["for-each-ref", "--format=%(refname:short) %(committerdate) %(subject)", "refs/heads"]),
        None,
        None,
        database.as_deref().map(|file| sqlite::ask(file, sqlite::VEHICLES)),
    ];
    let find = [
        Some(asfound(&place, &["find", "m1.s4_0"])),
        None,
        None,
        None,
        database.as_deref().map(|file| sqlite::ask(file, &sqlite::find("m1.s4_0"))),
    ];
    let start = [Some(asfound(&place, &["--version"])), git(&["--version"]), None, None, None];
    let runs = 5;
    let mut text = format!(
        "\n### {} cars, {each} entries each\n\nPacked as `git fast-import` does, with `git pack-refs` ({} MB), {FEW} modules a car. The first `vehicles` after that took \
         {first}, the first `find` {searched}; the index they leave is {} MB.\n\n\
         | question | asfound | git | | | SQLite | asfound's memory |\n| --- | --- | --- | --- | --- | --- | --- |\n",
        grouped(cars as u64),
        millions(git::size(&repository)),
        millions(git::size(&place.join("index"))),
    );
    for (name, question) in [
        ("vehicles (`git for-each-ref` with dates)", vehicles),
        ("find a setting", find),
        ("start (`--version`)", start),
    ] {
        text.push_str(&row(name, &question, runs));
    }
    text
}

/// One question to all that can answer it.
fn row(name: &str, question: &[Option<Command>; 5], runs: usize) -> String {
    let memory = question[0].as_ref().and_then(peak).map_or_else(|| "–".to_owned(), |kib| format!("{} MB", kib / 1024));
    let cells: Vec<String> =
        in_turn(question, runs).iter().map(|one| one.as_ref().map_or("–".to_owned(), Shown::to_string)).collect();
    format!("| {name} | {} | {memory} |\n", cells.join(" | "))
}

fn millions(bytes: u64) -> String {
    format!("{}.{}", bytes / 1_000_000, bytes / 100_000 % 10)
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
