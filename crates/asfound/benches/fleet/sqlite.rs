//! The same alterations in a database of `sqlite3`, for those who would have kept them there.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Stdio;

use asfound_journal::journal::Journal;

use crate::measure::{Command, program};

const SCHEMA: &str = "
create table entry (vehicle text, number integer, kind text, happened text, author text, why text,
                    primary key (vehicle, number)) without rowid;
create table alteration (vehicle text, place text, number integer, found text, left text,
                         primary key (vehicle, place, number)) without rowid;
create index by_place on alteration (place, vehicle, number);
begin;
";

pub(crate) const VEHICLES: &str = "select vehicle, max(number), happened from entry group by vehicle order by vehicle;";

/// Fills a database from the journals; nothing where `sqlite3` is not installed.
pub(crate) fn build(folder: &Path, garage: &Path, tags: &[String]) -> Option<PathBuf> {
    let file = folder.join("alterations.db");
    let mut child = std::process::Command::new("sqlite3").arg(&file).stdin(Stdio::piped()).spawn().ok()?;
    let mut to = std::io::BufWriter::new(child.stdin.take()?);
    to.write_all(SCHEMA.as_bytes()).unwrap();
    // Without an index, so that those who are measured find none.
    let store = asfound_journal::store::GitStore::open(
        &garage.join("journals.git"),
        &garage.join("locks"),
        asfound_journal::store::LockTimeouts::default(),
    )
    .unwrap();
    for tag in tags {
        for filed in Journal::new(&store, tag.parse().unwrap()).entries().unwrap() {
            let entry = filed.entry;
            let mut text = String::new();
            writeln!(
                text,
                "insert into entry values ('{tag}', {}, '{}', '{}', '{}', '{}');",
                entry.number,
                entry.body.kind(),
                entry.happened,
                entry.author.name(),
                entry.why
            )
            .unwrap();
            for effect in entry.body.effects().into_iter().flat_map(|effects| &effects.records) {
                // Both settings of the record, by their bytes.
                let record = effect.record.identifier().unwrap() - 0x0D00;
                for setting in 0..2 {
                    let byte = |bytes: &asfound_core::value::HexBytes| bytes.as_slice()[setting];
                    let (found, left) = (effect.found.as_ref().map(byte), byte(&effect.left));
                    if found != Some(left) {
                        let found = found.map_or("null".to_owned(), |found| format!("'{found}'"));
                        writeln!(
                            text,
                            "insert into alteration values ('{tag}', '{}.s{record}_{setting}', {}, {found}, '{left}');",
                            effect.module, entry.number
                        )
                        .unwrap();
                    }
                }
            }
            to.write_all(text.as_bytes()).unwrap();
        }
    }
    to.write_all(b"commit;\n").unwrap();
    drop(to);
    child.wait().unwrap().success().then_some(file)
}

pub(crate) fn ask(file: &Path, question: &str) -> Command {
    program("sqlite3", &["-readonly", &file.display().to_string(), question])
}

pub(crate) fn life(vehicle: &str, setting: &str) -> String {
    format!(
        "select number, happened, found, left, kind, author, why from alteration natural join entry \
         where vehicle = '{vehicle}' and place = '{setting}' order by number;"
    )
}

pub(crate) fn entries(vehicle: &str) -> String {
    format!("select number, happened, kind, author, why from entry where vehicle = '{vehicle}' order by number;")
}

pub(crate) fn find(setting: &str) -> String {
    format!(
        "select vehicle, max(number), happened, left, author, why from alteration natural join entry \
         where place = '{setting}' group by vehicle order by vehicle;"
    )
}
