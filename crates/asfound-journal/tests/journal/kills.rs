//! A process that is killed while it appends loses nothing that it was told is filed.

use std::io::{BufRead, BufReader, Write};
use std::time::Duration;

use asfound_journal::store::{CommitId, Store};

use crate::support::{Place, append_until_filed, messages, new_commit, open_store, tag};
use crate::writers::{start, told};

const KILLS: usize = 30;

/// Appends until it is killed, and says each id that it was given.
#[test]
#[ignore = "a process that the test below starts and kills"]
fn endless_writer() {
    let (garage, name) = told();
    let store = open_store(&garage);
    let mut said = std::io::stdout();
    for n in 0.. {
        let id = append_until_filed(&store, &tag("wren"), &format!("{name} {n}"));
        said.write_all(format!("filed {id}\n").as_bytes()).and_then(|()| said.flush()).unwrap();
    }
}

/// Appends three at a time until it is killed.
#[test]
#[ignore = "a process that the test below starts and kills"]
fn endless_writer_of_three() {
    let (garage, name) = told();
    let store = open_store(&garage);
    let wren = tag("wren");
    let mut said = std::io::stdout();
    for n in 0.. {
        let three: Vec<_> =
            (1..=3).map(|part| new_commit(&format!("{name} {n} part {part}"), &[("entry.toml", "e")])).collect();
        store.append_all(&wren, store.tip(&wren).unwrap().as_ref(), &three, None).unwrap();
        said.write_all(b"filed three\n").and_then(|()| said.flush()).unwrap();
    }
}

#[test]
fn entries_that_belong_together_are_all_there_or_none() {
    let place = Place::new();
    let mut seen = 0;
    for kill in 0..KILLS {
        let mut child = start("kills::endless_writer_of_three", &place.path(), &format!("writer {kill}"));
        let lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
        seen += lines.take_while(|line| !line.contains("filed three")).count();
        std::thread::sleep(Duration::from_micros(997 * (kill as u64 % 17)));
        child.kill().unwrap();
        child.wait().unwrap();
    }
    let store = place.reopened();
    let messages = messages(&store, &tag("wren"));
    assert!(messages.len() >= 3 * KILLS, "{} entries by {KILLS} writers; {seen}", messages.len());
    for three in messages.chunks(3) {
        let name = three[0].strip_suffix(" part 1").expect("every three begin with their first");
        assert_eq!(three[1..], [format!("{name} part 2"), format!("{name} part 3")]);
    }
    place.assert_sound();
}

#[test]
fn every_acknowledged_entry_outlives_its_writer() {
    let place = Place::new();
    let wren = tag("wren");
    let mut acknowledged: Vec<CommitId> = Vec::new();
    for kill in 0..KILLS {
        let mut child = start("kills::endless_writer", &place.path(), &format!("writer {kill}"));
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
        // The test harness may print before the first.
        let filed = |line: String| line.strip_prefix("filed ").and_then(|id| id.parse().ok());
        acknowledged.push(lines.by_ref().find_map(filed).expect("the writer files entries"));
        // Somewhere in the middle of one of the next few.
        std::thread::sleep(Duration::from_micros(997 * (kill as u64 % 17)));
        child.kill().unwrap();
        child.wait().unwrap();
        acknowledged.extend(lines.filter_map(filed));
    }
    let store = place.reopened();
    let line = store.line(&wren).unwrap();
    let mut rest = line.iter();
    for id in &acknowledged {
        assert!(rest.any(|filed| filed == id), "{id} was acknowledged and is not in the journal, or not in order");
    }
    // At most one each was filed without being acknowledged.
    assert!(line.len() <= acknowledged.len() + KILLS, "{} filed, {} acknowledged", line.len(), acknowledged.len());
    append_until_filed(&store, &wren, "after all that");
    assert_eq!(messages(&store, &wren).last().unwrap(), "after all that");
    place.assert_sound();
}
