//! What it takes to file an entry so that it lasts, beside git and `sqlite3` on the same content.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Effects, Reason, RecordEffect, WorkBody};
use asfound_core::value::HexBytes;
use asfound_journal::garage::Garage;
use asfound_journal::journal::{EntryDraft, EntryRandomness, Journal, JournalError};
use asfound_journal::store::{BlobId, FileContent, Files, NewCommit, Store};
use time::macros::datetime;

use crate::git;
use crate::measure::{Shown, in_milliseconds, shown};
use crate::{garage, grouped};

/// As git has it: every object, reference and folder is on the disk when the program ends.
const SYNCED: [&str; 4] = ["-c", "core.fsync=all", "-c", "core.fsyncMethod=fsync"];

/// Files changes for a car of so many entries, each way in turn.
pub(crate) fn section(entries: u32, runs: usize) -> (String, Vec<(&'static str, f64)>) {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("garage");
    garage::build(&place, entries);
    crate::define(&place, garage::MODULES);
    let repository = place.join("journals.git");
    git::git(&repository, &["gc", "--quiet", "--prune=now"]);
    let work = Work::check_out(folder.path(), &repository, "porcelain");
    let plumbing = Work::check_out(folder.path(), &repository, "plumbing");
    let database = folder.path().join("alterations.db");
    let has_sqlite =
        sqlite(&database, "pragma journal_mode = wal; create table entry (number integer primary key, text blob);");
    let open = Garage::open(&place).unwrap();
    let definitions = definitions();

    let names = [
        "the append alone",
        "asfound, in one process",
        "asfound change",
        "git add, git commit",
        "git plumbing",
        "sqlite3",
    ];
    let mut times: [Vec<Duration>; 6] = std::array::from_fn(|_| Vec::new());
    for run in 0..=runs {
        let mut taken = [None; 6];
        taken[1] = Some(timed(|| file(&open, &definitions, run)));
        let files = changed(&repository);
        taken[0] = Some(append(&open, &files, run));
        taken[3] = Some(timed(|| work.commit(&files)));
        taken[4] = Some(timed(|| plumbing.plumb(&files)));
        if has_sqlite {
            let text: String = files.iter().map(|(_, content)| hex(content)).collect();
            let insert = format!("pragma synchronous = full; insert into entry (text) values (x'{text}');");
            taken[5] = Some(timed(|| assert!(sqlite(&database, &insert))));
        }
        taken[2] = Some(timed(|| change(&place, run)));
        // The first of each pays for the cold disk.
        for (times, taken) in times.iter_mut().zip(taken).filter(|_| run > 0) {
            times.extend(taken);
        }
    }
    let all: Vec<Option<Shown>> = times.into_iter().map(shown).collect();
    let cells: Vec<String> = all.iter().map(|one| one.as_ref().map_or("–".to_owned(), Shown::to_string)).collect();
    let medians = names.into_iter().zip(&all).filter_map(|(name, one)| Some((name, one.as_ref()?.median())));
    let medians: Vec<_> = medians.map(|(name, time)| (name, in_milliseconds(time))).collect();
    (format!("| {} | {} |\n", grouped(u64::from(entries)), cells.join(" | ")), medians)
}

pub(crate) const HEADS: &str = "| entries so far | the append alone | asfound, in one process | `asfound change` | `git add`, `git commit` | git plumbing, 5 programs | `sqlite3`, WAL, FULL |\n| --- | --- | --- | --- | --- | --- | --- |\n";

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

fn definitions() -> DefinitionSet {
    let mut set = DefinitionSet::new();
    for module in 0..garage::MODULES {
        let text = garage::definition_text(module);
        set.add(asfound_core::definition::Definition::parse(&text).unwrap().definition).unwrap();
    }
    set
}

/// Files the change of one byte, as a program that stays open does.
fn file(garage: &Garage, definitions: &DefinitionSet, run: usize) {
    let journal = Journal::new(garage.store(), "wren".parse().unwrap());
    let filed = journal.file(definitions, |before| {
        let (module, record) = ("m3".parse().unwrap(), "0D04".parse().unwrap());
        let found = before.history.state().record(&module, &record).unwrap().bytes.clone();
        let mut left = found.as_slice().to_vec();
        left[9] ^= 1;
        let (found, left) = (Some(found), HexBytes::from(left));
        let records = vec![RecordEffect { module, record, found, left }];
        let at = datetime!(2027-01-01 09:00 +1);
        Ok::<_, JournalError>(EntryDraft {
            recorded: at,
            happened: at,
            precision: asfound_core::moment::Precision::Second,
            author: Author::new("Edda Brandt", Some("edda@workshop.example")).unwrap(),
            why: Reason::try_from("the owner wants it so".to_owned()).unwrap(),
            body: Body::Change(WorkBody { effects: Effects { records, ..Effects::default() }, ..WorkBody::default() }),
            evidence: Vec::new(),
            chance: chance(run),
        })
    });
    filed.map_err(|_| "refused").unwrap();
}

fn chance(run: usize) -> EntryRandomness {
    let byte = u8::try_from(run % 251).unwrap();
    EntryRandomness { entry: [byte; 16], vehicle: [byte; 16], blind: [byte; 32] }
}

/// The same files once more, behind a copy of the last entry: what it takes until they last, and nothing else.
fn append(garage: &Garage, files: &[(String, Vec<u8>)], run: usize) -> Duration {
    let (store, tag) = (garage.store(), "rook".parse().unwrap());
    let tip = store.tip(&tag).unwrap();
    let last = tip.clone().or_else(|| store.tip(&"wren".parse().unwrap()).unwrap()).unwrap();
    let kept = |blob: &BlobId| match tip {
        Some(_) => FileContent::Kept(blob.clone()),
        None => FileContent::New(store.read(blob).unwrap()),
    };
    let listed = store.commit(&last).unwrap().files;
    let mut all: Files = listed.iter().map(|(path, blob)| (path.parse().unwrap(), kept(blob))).collect();
    for (path, content) in files {
        // What is there already would not be written again.
        let content = [content.as_slice(), format!("# {run}\n").as_bytes()].concat();
        all.insert(path.parse().unwrap(), FileContent::New(content));
    }
    let author = asfound_journal::store::Author::new("Edda Brandt", "edda@workshop.example").unwrap();
    let when = datetime!(2027-01-01 09:00 +1);
    let new = NewCommit { author, when, message: "a change\n".to_owned(), files: all };
    timed(|| assert_ne!(Some(store.append(&tag, tip.as_ref(), &new).unwrap()), tip))
}

/// The same by a program that is started for it.
fn change(place: &Path, run: usize) {
    let value = format!("m3.s4_0={}", run % 200 + 1);
    let output = Command::new(env!("CARGO_BIN_EXE_asfound"))
        .args([
            "--garage",
            &place.display().to_string(),
            "--author",
            "Edda Brandt",
            "change",
            "wren",
            &value,
            "--why",
            "so",
        ])
        .stdin(Stdio::null())
        .output()
        .unwrap();
    // The value it has already is no change, which may come about once.
    assert!(output.status.success() || run == 0, "{}", String::from_utf8_lossy(&output.stderr));
}

/// The files in which the last entry differs from the one before.
fn changed(repository: &Path) -> Vec<(String, Vec<u8>)> {
    let output =
        git::git_command(repository).args(["diff-tree", "-r", "--name-only", "wren^", "wren"]).output().unwrap();
    let names = String::from_utf8(output.stdout).unwrap();
    let content = |name: &str| {
        let output = git::git_command(repository).args(["cat-file", "blob", &format!("wren:{name}")]).output().unwrap();
        (name.to_owned(), output.stdout)
    };
    names.lines().map(content).collect()
}

/// A copy of the repository with its files checked out.
struct Work {
    repository: std::path::PathBuf,
    files: std::path::PathBuf,
}

impl Work {
    fn check_out(folder: &Path, from: &Path, name: &str) -> Self {
        let (repository, files) = (folder.join(name).join(".git"), folder.join(name));
        fs::create_dir_all(&files).unwrap();
        git::git(&repository, &["init", "--quiet", "--bare"]);
        let work = Self { repository, files };
        work.git(&["fetch", "--quiet", &from.display().to_string(), "wren:refs/heads/wren"]);
        work.git(&["symbolic-ref", "HEAD", "refs/heads/wren"]);
        work.git(&["reset", "--quiet", "--hard"]);
        work
    }

    fn git(&self, arguments: &[&str]) -> String {
        let output = git::git_command(&self.repository)
            .arg("--work-tree")
            .arg(&self.files)
            .args(["-c", "core.bare=false"])
            .args(SYNCED)
            .args(["-c", "user.name=Edda Brandt", "-c", "user.email=edda@workshop.example", "-c", "gc.auto=0"])
            .args(arguments)
            .current_dir(&self.files)
            .output()
            .unwrap();
        assert!(output.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap().trim().to_owned()
    }

    fn write(&self, files: &[(String, Vec<u8>)]) {
        for (name, content) in files {
            let path = self.files.join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, content).unwrap();
        }
    }

    fn commit(&self, files: &[(String, Vec<u8>)]) {
        self.write(files);
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--message", "a change"]);
    }

    /// Without looking at the other files: objects, index, tree, commit, reference.
    fn plumb(&self, files: &[(String, Vec<u8>)]) {
        self.write(files);
        let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
        let parent = self.git(&["rev-parse", "wren"]);
        self.git(&[&["update-index", "--add", "--"], names.as_slice()].concat());
        let tree = self.git(&["write-tree"]);
        let commit = self.git(&["commit-tree", "-p", &parent, "-m", "a change", &tree]);
        self.git(&["update-ref", "refs/heads/wren", &commit, &parent]);
    }
}

fn sqlite(file: &Path, statements: &str) -> bool {
    let child = Command::new("sqlite3").arg(file).arg(statements).stdin(Stdio::null()).stdout(Stdio::null()).status();
    child.is_ok_and(|status| status.success())
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    let digit = |bits: u8| char::from(b"0123456789abcdef"[usize::from(bits)]);
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}
