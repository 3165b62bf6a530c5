//! A process that is killed while it appends loses nothing that it was told is filed.

use std::io::{BufRead, BufReader, Write};
use std::time::Duration;

use asfound_journal::store::{CommitId, Store};

use crate::support::{Place, append_until_filed, messages, open_store, tag};
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
