//! Waiting for others: held locks, stale locks, time limits.

use std::fs::{self, File, OpenOptions};
use std::time::{Duration, Instant};

use asfound_journal::FailureKind;
use asfound_journal::store::{GitStore, Holder, LockTimeouts, Store, StoreError};

use crate::support::{Place, append_until_filed, messages, new_commit, tag};

fn with_limit(place: &Place, limit: u64, stale: u64) -> GitStore {
    let timeouts = LockTimeouts { limit: Duration::from_millis(limit), stale: Duration::from_millis(stale) };
    GitStore::open(&place.repository(), &place.path().join("locks"), timeouts).unwrap()
}

#[test]
fn a_journal_that_somebody_holds_is_busy_and_says_who() {
    let place = Place::new();
    let wren = tag("wren");
    append_until_filed(place.garage.store(), &wren, "first");
    let lock = OpenOptions::new().write(true).truncate(true).open(place.path().join("locks/wren")).unwrap();
    lock.lock().unwrap();
    fs::write(place.path().join("locks/wren"), "process 4321\nhost bench-two\n").unwrap();

    let store = with_limit(&place, 50, 100);
    let tip = store.tip(&wren).unwrap();
    let started = Instant::now();
    let error = store.append(&wren, tip.as_ref(), &new_commit("second", &[("a", "2")])).unwrap_err();
    assert!((50..5_000).contains(&started.elapsed().as_millis()), "{:?}", started.elapsed());
    assert_eq!(error.kind(), FailureKind::Busy);
    let said = error.to_string();
    assert!(said.starts_with("the journal of `wren` is being written by process 4321 on bench-two"), "{said}");
    // Other vehicles are free, and so is reading.
    append_until_filed(&store, &tag("rook"), "enrolled");
    assert_eq!(store.tip(&wren).unwrap(), tip);

    drop(lock);
    append_until_filed(&store, &wren, "second");
}

#[test]
fn a_lock_file_that_a_killed_process_left_is_removed() {
    let place = Place::new();
    let wren = tag("wren");
    append_until_filed(place.garage.store(), &wren, "first");
    let stale = place.repository().join("refs/heads/wren.lock");
    let file = File::create(&stale).unwrap();
    file.set_modified(file.metadata().unwrap().modified().unwrap() - Duration::from_secs(60)).unwrap();
    let store = with_limit(&place, 10_000, 3_000);
    let started = Instant::now();
    append_until_filed(&store, &wren, "second");
    assert!(started.elapsed() < Duration::from_secs(2), "an old lock was waited for");
    assert!(!stale.exists());

    // For a first entry too.
    let file = File::create(place.repository().join("refs/heads/rook.lock")).unwrap();
    file.set_modified(file.metadata().unwrap().modified().unwrap() - Duration::from_secs(60)).unwrap();
    append_until_filed(&store, &tag("rook"), "first");
    place.assert_sound();
}

#[test]
fn a_fresh_lock_file_is_somebody_elses() {
    let place = Place::new();
    let wren = tag("wren");
    append_until_filed(place.garage.store(), &wren, "first");
    let lock = place.repository().join("refs/heads/wren.lock");
    File::create(&lock).unwrap();

    let hasty = with_limit(&place, 60, 60_000);
    let tip = hasty.tip(&wren).unwrap();
    let error = hasty.append(&wren, tip.as_ref(), &new_commit("second", &[("a", "2")])).unwrap_err();
    assert!(
        matches!(&error, StoreError::Busy { holder: Holder::LockFile(path), .. } if path.ends_with("refs/heads/wren.lock")),
        "{error:?}"
    );
    assert!(error.hint().unwrap().contains("wren.lock"));
    assert!(lock.exists());
    assert_eq!(messages(&hasty, &wren), ["first"]);

    // Gone after a moment, as that of a living program is: the append goes through.
    std::thread::scope(|scope| {
        scope.spawn(|| {
            std::thread::sleep(Duration::from_millis(80));
            fs::remove_file(&lock).unwrap();
        });
        append_until_filed(&with_limit(&place, 10_000, 60_000), &wren, "second");
    });
    assert_eq!(messages(&hasty, &wren), ["first", "second"]);
}
