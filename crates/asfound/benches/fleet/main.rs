//! The program beside git and `sqlite3`, each as a process of its own, on the same journals, in one run.
//!
//! ```sh
//! cargo bench -p asfound --bench fleet                       # 100 and 10,000 entries of one car; prints tables
//! cargo bench -p asfound --bench fleet -- --large --write    # also 100,000, and 10,000 cars of 20; rewrites its part of
//!                                                            # docs/performance.md, and draws its charts
//! ```
//!
//! `--only=10000` measures only one car of so many entries, `--only=fleet` only the many cars, `--only=append` only filing,
//! `--only=bulk` only filing many at once.
//! `--make=DIR --entries=100000` makes a garage of one such car, `--make=DIR --cars=10000 --entries=20` one of many, and leaves it
//! for whoever wants to try something on it.
//!
//! `sqlite3` is measured where it is installed: on a table of the same alterations with an index on vehicle and place.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a benchmark prints what it measured, and stops where it fails"
)]

mod append;
mod bulk;
mod chart;
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

use measure::{Command, Shown, asfound, git_on, in_milliseconds, in_turn, milliseconds, peak};

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
    if let Some(place) = arguments.iter().find_map(|argument| argument.strip_prefix("--make=")) {
        let number =
            |name: &str| arguments.iter().find_map(|argument| argument.strip_prefix(name)?.parse::<u32>().ok());
        match number("--cars=") {
            Some(cars) => drop(make_fleet(Path::new(place), cars, number("--entries=").unwrap_or(20))),
            None => make(Path::new(place), number("--entries=").unwrap_or(100_000)),
        }
        return;
    }
    let sizes: &[u32] = if large { &[100, 10_000, 100_000] } else { &[100, 10_000] };
    let (cars, each): (u32, u32) = if large { (10_000, 20) } else { (200, 20) };

    let wanted = |part: &str| only.is_none_or(|only| only == part);
    let mut text = String::new();
    let mut grown = Grown::default();
    for entries in sizes.iter().filter(|entries| wanted(&entries.to_string())) {
        eprintln_progress(&format!("one car of {entries} entries"));
        text.push_str(&one_car(*entries, &mut grown));
    }
    if wanted("append") {
        text.push_str(&filing(sizes, large, &mut grown));
    }
    if wanted("fleet") {
        eprintln_progress(&format!("{cars} cars of {each} entries"));
        text.push_str(&fleet(cars, each));
    }
    if wanted("bulk") {
        eprintln_progress("many cars at once");
        text.push_str(&bulk::section(cars, each));
    }
    text.push_str(&format!("\n{}{}\n", git::machine(), load()));
    println!("{text}");
    if write {
        let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs");
        for (file, title) in
            [(LIFE_CHART, "Time to tell the life of a setting"), (APPEND_CHART, "Time to file an entry")]
        {
            text.push_str(&format!("\n![{title}, by the length of the journal]({file})\n"));
            std::fs::write(docs.join(file), chart::chart(title, &grown.lines(file))).unwrap();
        }
        let page = docs.join("performance.md");
        let before = std::fs::read_to_string(&page).unwrap();
        std::fs::write(&page, replaced(&before, &text)).unwrap();
    }
}

const LIFE_CHART: &str = "life-time.svg";
const APPEND_CHART: &str = "append-time.svg";

/// Medians in milliseconds by number of entries, for the charts.
#[derive(Default)]
struct Grown(Vec<(&'static str, String, f64, f64)>);

impl Grown {
    fn add(&mut self, chart: &'static str, line: &str, entries: u32, time: f64) {
        self.0.push((chart, line.to_owned(), f64::from(entries), time));
    }

    fn lines(&self, chart: &str) -> Vec<chart::Line> {
        let mut lines: Vec<chart::Line> = Vec::new();
        for (_, name, entries, time) in self.0.iter().filter(|(of, ..)| *of == chart) {
            match lines.iter_mut().find(|line| line.name == *name) {
                Some(line) => line.points.push((*entries, *time)),
                None => lines.push(chart::Line { name: name.clone(), points: vec![(*entries, *time)] }),
            }
        }
        lines
    }
}

/// How busy the machine was besides.
fn load() -> String {
    let text = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    text.split_whitespace().next().map_or_else(String::new, |load| format!(" Load average at the end: {load}."))
}

/// Filing beside git and `sqlite3`.
fn filing(sizes: &[u32], large: bool, grown: &mut Grown) -> String {
    let mut text = format!(
        "\n### Filing an entry that lasts\n\nA change of one byte of one record, of a car of {} modules, until it would survive a \
         power cut; the same files each way. git with `core.fsync=all`. `asfound change` is a whole run of the program, which \
         reads {} definition files and works out what the change means; within one process the journal is read twice, \
         before and after, and written; the append alone is handed the same files and only makes them last. Medians in milliseconds, the fastest in brackets.\n\n{}",
        garage::MODULES,
        garage::MODULES,
        append::HEADS
    );
    for entries in sizes {
        eprintln_progress(&format!("filing behind {entries} entries"));
        let runs = if *entries > 20_000 {
            5
        } else if large {
            21
        } else {
            9
        };
        let (row, medians) = append::section(*entries, runs);
        text.push_str(&row);
        medians.iter().for_each(|(name, time)| grown.add(APPEND_CHART, name, *entries, *time));
    }
    text
}

/// Makes a garage of one car, packed, and leaves it there.
fn make(place: &Path, entries: u32) {
    garage::build(place, entries);
    define(place, garage::MODULES);
    git::git(&place.join("journals.git"), &["gc", "--quiet", "--prune=now"]);
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

fn one_car(entries: u32, grown: &mut Grown) -> String {
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
    let ways = ["asfound", "git log -- path", "git log -G", "git log -G -- path", "SQLite"];
    let (row_of_life, medians) = row_and_medians("life of a setting (`git log -- path`)", &life, runs);
    text.push_str(&row_of_life);
    for (way, time) in ways.iter().zip(medians) {
        time.into_iter().for_each(|time| grown.add(LIFE_CHART, way, entries, time));
    }
    for (name, question) in
        [("all entries", all), ("settings", settings), ("settings half-way", earlier), ("vehicles", listed)]
    {
        text.push_str(&row(name, &question, runs));
    }
    text.push_str(&memory(&place, folder.path(), entries));
    text
}

/// The most memory that each command takes, started once.
fn memory(place: &Path, folder: &Path, entries: u32) -> String {
    let (half, last) = ((entries / 2).max(2).to_string(), entries.to_string());
    let reading = folder.join("reading.toml");
    let bytes = vec!["5A"; 32].join(" ");
    let text = format!(
        "format = \"asfound-reading/1\"\n[modules.m3]\nrecords = {{ \"0D04\" = \"{bytes}\" }}\n\
         [[modules.m3.trouble_codes]]\ncode = \"U0121-00\"\n"
    );
    std::fs::write(&reading, text).unwrap();
    let file = |name: &str| folder.join(name).display().to_string();
    let (reading, sheet, page) = (file("reading.toml"), file("sheet.txt"), file("sheet.html"));
    let (book, back) = (file("book.html"), file("back.toml"));
    let commands: [&[&str]; 22] = [
        &["entries", "wren"],
        &["entries", "wren", "--json"],
        &["entries", "wren", SETTING],
        &["entry", "wren", &half],
        &["settings", "wren"],
        &["settings", "wren", "--at", &half],
        &["vehicles"],
        &["find", SETTING],
        &["explain", SETTING, "--vehicle", "wren"],
        &["compare", "wren", "2", &half],
        &["seal", "wren"],
        &["audit", "wren"],
        &["handover", "wren", "--from", &half, "--to", &last, "--out", &sheet],
        &["handover", "wren", "--from", &half, "--to", &last, "--out", &page],
        &["logbook", "wren", "--out", &book],
        &["return-to", "wren", &half, "--save", &back],
        &["plan", "show", &back],
        &["note", "wren", "measured"],
        &["change", "wren", "m3.s5_0=7", "--why", "measured"],
        &["read", "wren", &reading, "--partial"],
        &["suspects", "wren", "U0121-00"],
        &["suspects", "wren", "U0121-00", "--json"],
    ];
    let mut text = String::from("\nMost memory of each command, started once, in MB:");
    for (at, arguments) in commands.iter().enumerate() {
        let (kib, time) = measure::memory(&asfound(place, arguments));
        let name = |word: &&str| word.rsplit('/').next().unwrap_or_default().to_owned();
        let shown = arguments.iter().map(name).collect::<Vec<_>>().join(" ");
        let mark = if at == 0 { " " } else { " · " };
        text.push_str(&format!("{mark}`{shown}` {} ({})", kib.div_ceil(1024), milliseconds(time)));
    }
    text.push_str(".\n");
    text
}

/// Makes a garage of many cars, and leaves it there.
fn make_fleet(place: &Path, cars: u32, each: u32) -> Vec<String> {
    let tags: Vec<String> = (0..cars).map(|n| format!("car-{n:05}")).collect();
    garage::build_fleet(place, &tags, each, FEW);
    define(place, FEW);
    // To pack so many objects anew takes git many minutes, and none of the questions below reads them.
    git::git(&place.join("journals.git"), &["pack-refs", "--all"]);
    tags
}

fn fleet(cars: u32, each: u32) -> String {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("garage");
    let tags = make_fleet(&place, cars, each);
    let repository = place.join("journals.git");
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
        grouped(u64::from(cars)),
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
    row_and_medians(name, question, runs).0
}

fn row_and_medians(name: &str, question: &[Option<Command>; 5], runs: usize) -> (String, [Option<f64>; 5]) {
    let memory = question[0].as_ref().and_then(peak).map_or_else(|| "–".to_owned(), |kib| format!("{} MB", kib / 1024));
    let all = in_turn(question, runs);
    let cells: Vec<String> = all.iter().map(|one| one.as_ref().map_or("–".to_owned(), Shown::to_string)).collect();
    let medians = all.map(|one| one.map(|one| in_milliseconds(one.median())));
    (format!("| {name} | {} | {memory} |\n", cells.join(" | ")), medians)
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
