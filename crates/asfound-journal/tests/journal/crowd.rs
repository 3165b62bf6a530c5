//! Eight processes that file entries for the same vehicles, beside readers: nothing is lost, numbers have no gap, and no reader
//! ever sees half an entry.
//!
//! A few entries by default; `ASFOUND_CROWD=20000` files so many.

use std::num::NonZero;
use std::process::Child;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Reason, Vehicle};
use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::journal::{EntryDraft, EntryRandomness, FileError, Journal, JournalError};
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::{GitStore, Store};
use time::macros::datetime;

use crate::support::{Place, open_store, tag};
use crate::writers::{start, told};

const WRITERS: usize = 8;
const READERS: usize = 2;

fn draft(why: &str, body: Body) -> EntryDraft {
    let at = datetime!(2026-03-14 09:20:05 +01:00);
    EntryDraft {
        recorded: at,
        happened: at,
        precision: asfound_core::moment::Precision::Second,
        author: Author::new("Edda Brandt", None).unwrap(),
        why: Reason::try_from(why.to_owned()).unwrap(),
        body,
        evidence: Vec::new(),
        chance: EntryRandomness { entry: [1; 16], vehicle: [2; 16], blind: [3; 32] },
    }
}

fn vehicles(entries: usize) -> Vec<String> {
    (0..(entries / 500).max(3)).map(|n| format!("car-{n}")).collect()
}

fn file(store: &GitStore, vehicle: &str, why: &str, body: &Body) {
    let journal = Journal::new(store, tag(vehicle));
    loop {
        let filed = journal.file(&DefinitionSet::new(), |_| Ok::<_, ()>(draft(why, body.clone())));
        match filed {
            Ok(_) => return,
            // Too many others at once; the entry is not filed, so it is filed again.
            Err(FileError::Journal(JournalError::KeepsMoving(_))) => {}
            Err(error) => panic!("{why}: {error:?}"),
        }
    }
}

#[test]
#[ignore = "a process that the test below starts"]
fn one_of_the_crowd() {
    let (garage, name) = told();
    let (writer, entries) = name.split_once(' ').unwrap();
    let (writer, entries): (usize, usize) = (writer.parse().unwrap(), entries.parse().unwrap());
    let (store, vehicles) = (open_store(&garage), vehicles(entries));
    for n in 0..entries / WRITERS {
        // Two writers are at each vehicle at a time, most of the time.
        let vehicle = &vehicles[(n + writer / 2) % vehicles.len()];
        file(&store, vehicle, &format!("{writer} {n}"), &Body::Note(None));
    }
}

#[test]
fn a_crowd_loses_nothing() {
    #[expect(clippy::disallowed_methods, reason = "this is how a contributor asks for a larger crowd")]
    let entries: usize = std::env::var("ASFOUND_CROWD").map_or(96, |asked| asked.parse().unwrap());
    let place = Place::new();
    let vehicles = vehicles(entries);
    for vehicle in &vehicles {
        let at = datetime!(2026-03-14 09:20:05 +01:00);
        let enrolled = Vehicle { tag: tag(vehicle), vin: None, about: None, enrolled: at };
        file(place.garage.store(), vehicle, "enrolled", &Body::Enrolled(enrolled));
    }
    let children: Vec<Child> =
        (0..WRITERS).map(|n| start("crowd::one_of_the_crowd", &place.path(), &format!("{n} {entries}"))).collect();
    let done = AtomicBool::new(false);
    thread::scope(|scope| {
        let readers: Vec<_> = (0..READERS)
            .map(|reader| {
                let (vehicles, done, path) = (&vehicles, &done, place.path());
                scope.spawn(move || {
                    let (store, mut rounds) = (open_store(&path), 0);
                    while !done.load(Ordering::Relaxed) {
                        let vehicle = &vehicles[(rounds + reader) % vehicles.len()];
                        whole(&store, vehicle);
                        rounds += 1;
                    }
                    rounds
                })
            })
            .collect();
        for child in children {
            let output = child.wait_with_output().unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        }
        done.store(true, Ordering::Relaxed);
        assert!(readers.into_iter().map(|reader| reader.join().unwrap()).sum::<usize>() > READERS);
    });

    let store = place.reopened();
    let mut found: Vec<(usize, usize)> = Vec::new();
    for vehicle in &vehicles {
        let journal = Journal::new(&store, tag(vehicle)).entries().unwrap();
        let notes = journal.iter().skip(1).map(|filed| filed.entry.why.as_str().to_owned());
        let notes: Vec<(usize, usize)> = notes
            .map(|why| {
                let (writer, n) = why.split_once(' ').unwrap();
                (writer.parse().unwrap(), n.parse().unwrap())
            })
            .collect();
        for writer in 0..WRITERS {
            assert!(
                notes.iter().filter(|note| note.0 == writer).is_sorted(),
                "out of the order in which they were filed"
            );
        }
        found.extend(notes);
    }
    found.sort_unstable();
    let wanted: Vec<(usize, usize)> = (0..WRITERS).flat_map(|w| (0..entries / WRITERS).map(move |n| (w, n))).collect();
    assert!(found == wanted, "{} of {} entries are there", found.len(), wanted.len());
    place.assert_sound();
}

/// Every entry of a journal is whole and its numbers have no gap, at this moment.
fn whole(store: &GitStore, vehicle: &str) {
    let means = AuditOptions { allowed: &AllowedSigners::default(), threads: NonZero::<usize>::MIN };
    let audited = audit(store, &tag(vehicle), means, &mut |_| {}).unwrap();
    assert!(audited.findings.is_empty(), "{:?}", audited.findings);
    assert!(store.line(&tag(vehicle)).unwrap().len() >= audited.entries_checked as usize);
}
