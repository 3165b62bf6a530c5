//! Several read while several write, each as a program of its own would: with its own handle on garage and index.

use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Reason, WorkBody};
use asfound_journal::garage::Garage;
use asfound_journal::journal::{EntryDraft, EntryRandomness, Journal, JournalError};

use crate::story::{START, enrolled, file, first_reading, tag};
use crate::support::{Place, entries, parts, settings};

const WRITERS: u8 = 2;
const READERS: usize = 3;
const EACH: u8 = 8;

/// Files a note-like change of nothing, drawn up from the journal as it is then.
fn file_one(garage: &Garage, mark: u8) {
    let author = Author::new("Edda Brandt", Some("edda@workshop.example")).unwrap();
    Journal::new(garage.store(), tag("wren"))
        .file(&DefinitionSet::new(), |before| {
            let at = START + time::Duration::hours(i64::try_from(before.index.len()).unwrap());
            Ok::<_, JournalError>(EntryDraft {
                recorded: at,
                happened: at,
                precision: asfound_core::moment::Precision::Second,
                author: author.clone(),
                why: Reason::try_from(format!("by {mark}")).unwrap(),
                body: Body::Change(WorkBody::default()),
                evidence: Vec::new(),
                chance: EntryRandomness { entry: [mark; 16], vehicle: [mark; 16], blind: [mark; 32] },
            })
        })
        .unwrap();
}

#[test]
fn readers_see_whole_entries_in_order_whoever_writes() {
    let place = Place::new();
    file(place.garage.store(), &tag("wren"), 0, "journal started", &enrolled(&tag("wren")), &[]);
    file(place.garage.store(), &tag("wren"), 1, "before the work", &first_reading(), &[]);
    let (path, done) = (place.path(), AtomicBool::new(false));
    let open = || Garage::open(&path).unwrap();
    let seen = thread::scope(|scope| {
        let writers: Vec<_> = (0..WRITERS)
            .map(|writer| {
                scope.spawn(move || {
                    let garage = open();
                    (0..EACH).for_each(|n| file_one(&garage, writer * EACH + n));
                })
            })
            .collect();
        let readers: Vec<_> = (0..READERS)
            .map(|reader| {
                let done = &done;
                scope.spawn(move || {
                    let (garage, mut seen) = (open(), Vec::new());
                    while !done.load(Ordering::Relaxed) {
                        // One of them deletes the index over and over, as anybody may.
                        if reader == 0 {
                            let _ = fs::remove_file(garage.path().join("index/wren"));
                        }
                        seen.push(entries(garage.store(), &tag("wren")));
                        let _ = parts(garage.store(), &tag("wren"), &settings()[0]);
                    }
                    seen
                })
            })
            .collect();
        writers.into_iter().for_each(|writer| writer.join().unwrap());
        done.store(true, Ordering::Relaxed);
        readers.into_iter().flat_map(|reader| reader.join().unwrap()).collect::<Vec<_>>()
    });
    let all = entries(&place.plain(), &tag("wren"));
    assert_eq!(all.len(), 2 + usize::from(WRITERS * EACH));
    assert!(all.iter().zip(1..).all(|(filed, number)| filed.entry.number.get() == number), "numbers have no gap");
    assert!(!seen.is_empty());
    for read in seen {
        assert_eq!(read, all[..read.len()]);
    }
    place.assert_same("wren");
    place.assert_same("wren");
}
