//! Several threads and processes append to one journal at once, and nothing is lost.

use std::collections::HashSet;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;

use asfound_journal::store::{CommitId, MemoryStore, Store};

use crate::support::{Place, append_until_filed, messages, open_store, tag};

const EACH: usize = 8;
const THREADS: usize = 4;
const PROCESSES: usize = 3;

/// Starts this test program again to run one of its ignored tests, which is told on its
/// input which garage to write to, and under which name.
pub(crate) fn start(test: &str, garage: &Path, name: &str) -> Child {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args([test, "--exact", "--ignored", "--nocapture", "--quiet"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    writeln!(input, "{}\n{name}", garage.display()).unwrap();
    child
}

/// What [`start`] told this process.
pub(crate) fn told() -> (PathBuf, String) {
    let mut lines = std::io::stdin().lines();
    let mut next = || lines.next().expect("this is a process that another test starts").unwrap();
    (next().into(), next())
}

#[test]
#[ignore = "a process that the test below starts"]
fn writer() {
    let (garage, name) = told();
    let store = open_store(&garage);
    for n in 0..EACH {
        append_until_filed(&store, &tag("wren"), &format!("{name} {n}"));
    }
}

fn names() -> Vec<String> {
    let threads = (0..THREADS).map(|n| format!("thread {n}"));
    threads.chain((0..PROCESSES).map(|n| format!("process {n}"))).collect()
}

/// Every entry of every writer once, and each writer's in the order in which it made them.
fn assert_all_there(store: &dyn Store, writers: &[String]) {
    let messages = messages(store, &tag("wren"));
    assert_eq!(messages.len(), writers.len() * EACH);
    for writer in writers {
        let own: Vec<_> = messages.iter().filter(|message| message.starts_with(writer)).cloned().collect();
        assert_eq!(own, (0..EACH).map(|n| format!("{writer} {n}")).collect::<Vec<_>>());
    }
}

#[test]
fn threads_and_processes_that_append_at_once_lose_nothing() {
    let place = Place::new();
    let children: Vec<Child> =
        (0..PROCESSES).map(|n| start("writers::writer", &place.path(), &format!("process {n}"))).collect();
    thread::scope(|scope| {
        for n in 0..THREADS {
            let place = &place;
            // The journal does not exist at first: all start with a first entry.
            let path = place.path();
            scope.spawn(move || {
                let store = open_store(&path);
                for k in 0..EACH {
                    append_until_filed(&store, &tag("wren"), &format!("thread {n} {k}"));
                }
            });
        }
    });
    for child in children {
        let output = child.wait_with_output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }
    assert_all_there(&place.reopened(), &names());
    place.assert_sound();
}

#[test]
fn threads_that_append_to_a_store_in_memory_lose_nothing() {
    let store = MemoryStore::new();
    let writers: Vec<String> = (0..THREADS).map(|n| format!("thread {n}")).collect();
    thread::scope(|scope| {
        for writer in &writers {
            let store = store.clone();
            scope.spawn(move || {
                for n in 0..EACH {
                    append_until_filed(&store, &tag("wren"), &format!("{writer} {n}"));
                }
            });
        }
    });
    assert_all_there(&store, &writers);
}

/// Two programs that both make the first entry of a new journal: one is told that it has moved on.
#[test]
fn of_two_first_entries_one_is_refused() {
    let place = Place::new();
    for round in 0..12 {
        let wren = tag(&format!("wren-{round}"));
        let path = place.path();
        let filed: Vec<Option<CommitId>> = thread::scope(|scope| {
            let writers: Vec<_> = (0..3)
                .map(|n| {
                    let (path, wren) = (path.clone(), wren.clone());
                    scope.spawn(move || {
                        let text = format!("by {n}");
                        open_store(&path).append(&wren, None, &crate::support::new_commit(&text, &[("a", &text)])).ok()
                    })
                })
                .collect();
            writers.into_iter().map(|writer| writer.join().unwrap()).collect()
        });
        let filed: HashSet<CommitId> = filed.into_iter().flatten().collect();
        assert_eq!(filed.len(), 1);
        assert_eq!(place.garage.store().line(&wren).unwrap(), filed.into_iter().collect::<Vec<_>>());
    }
}
