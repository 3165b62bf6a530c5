//! Packing of objects and references, beside readers and writers, and killed in the middle.

use std::fs;
use std::io::Write as _;
use std::process::Stdio;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use asfound_journal::store::{PackOutcome, Store};

use crate::support::{Place, append_until_filed, git_command, messages, open_store, tag};
use crate::writers::{start, told};

fn loose(place: &Place) -> usize {
    let text = place.git_text(&["count-objects"]);
    text.split(' ').next().unwrap().parse().unwrap()
}

fn tidy(place: &Place) -> PackOutcome {
    place.reopened().tidy(&mut |_| {}).unwrap()
}

#[test]
fn everything_is_packed_and_reads_as_before() {
    let place = Place::new();
    for n in 0..6 {
        append_until_filed(place.garage.store(), &tag("wren"), &format!("wren {n}"));
        append_until_filed(place.garage.store(), &tag("rook"), &format!("rook {n}"));
    }
    let lines =
        |store: &dyn Store| ["wren", "rook"].map(|name| (store.line(&tag(name)).unwrap(), messages(store, &tag(name))));
    let (before, count) = (lines(place.garage.store()), loose(&place));
    let refs = place.git_text(&["for-each-ref"]);
    let mut told = Vec::new();
    let tidied = place.reopened().tidy(&mut |progress| told.push((progress.packed, progress.total))).unwrap();
    assert_eq!((tidied.objects, tidied.references, tidied.damaged), (count, 2, 0));
    assert_eq!(told.last(), Some(&(count, count)));
    assert_eq!(loose(&place), 0);
    assert!(!place.repository().join("refs/heads/wren").exists());
    assert_eq!(place.git_text(&["for-each-ref"]), refs);
    // The store that was open all the time, a new one, and plain git all read it.
    assert_eq!(lines(place.garage.store()), before);
    assert_eq!(lines(&place.reopened()), before);
    place.assert_sound();
    // It goes on from there, by the open store too; and a second time there is only that to pack.
    append_until_filed(place.garage.store(), &tag("wren"), "wren 6");
    append_until_filed(&place.reopened(), &tag("rook"), "rook 6");
    let tidied = tidy(&place);
    assert_eq!((tidied.objects > 0, tidied.references), (true, 2));
    assert_eq!(tidy(&place).objects, 0);
    assert_eq!(messages(&place.reopened(), &tag("wren")).len(), 7);
    place.assert_sound();
}

#[test]
fn small_packs_are_put_together() {
    let place = Place::new();
    for n in 0..8 {
        append_until_filed(place.garage.store(), &tag("wren"), &format!("wren {n}"));
        let merged = tidy(&place).merged;
        assert_eq!(merged, if n == 7 { 8 } else { 0 });
    }
    let packs = fs::read_dir(place.repository().join("objects/pack")).unwrap().count();
    assert_eq!(packs, 2, "one pack and its index");
    assert_eq!(messages(place.garage.store(), &tag("wren")).len(), 8);
    place.assert_sound();
}

#[test]
fn a_damaged_object_stays_as_it_is() {
    let place = Place::new();
    append_until_filed(place.garage.store(), &tag("wren"), "first");
    let tree = place.git_text(&["rev-parse", "wren^{tree}"]);
    let file = place.object_file(tree.trim());
    let content = fs::read(&file).unwrap();
    fs::set_permissions(&file, std::os::unix::fs::PermissionsExt::from_mode(0o644)).unwrap();
    fs::write(&file, &content[..content.len() / 2]).unwrap();
    let tidied = tidy(&place);
    assert_eq!(tidied.damaged, 1);
    assert_eq!(fs::read(&file).unwrap(), &content[..content.len() / 2]);
    fs::write(&file, &content).unwrap();
    assert_eq!(tidy(&place).damaged, 0);
    place.assert_sound();
}

/// What other programs write into the repository without syncing, so that there is much to pack.
fn fill(place: &Place, count: usize) {
    let mut child = git_command(&place.repository())
        .args(["fast-import", "--quiet"])
        .env("GIT_CONFIG_COUNT", "1")
        .env("GIT_CONFIG_KEY_0", "fastimport.unpackLimit")
        .env("GIT_CONFIG_VALUE_0", "1000000")
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    for n in 0..count {
        let text = format!("filling {n}\n");
        write!(input, "blob\ndata {}\n{text}\n", text.len()).unwrap();
    }
    drop(input);
    assert!(child.wait().unwrap().success());
}

#[test]
fn once_it_pays_a_portion_is_packed_after_an_entry_is_filed() {
    let place = Place::new();
    let store = place.garage.store();
    for n in 0..3 {
        append_until_filed(store, &tag("wren"), &format!("before {n}"));
    }
    assert!(
        fs::read_dir(place.repository().join("objects/pack")).map_or(0, Iterator::count) == 0,
        "it did not pay yet"
    );
    fill(&place, 9_000);
    let before = loose(&place);
    assert!(before >= 9_000);
    append_until_filed(store, &tag("wren"), "it pays");
    let packed = before - loose(&place);
    assert!((1_000..4_000).contains(&packed), "{packed} of {before}");
    for n in 0..3 {
        append_until_filed(store, &tag("wren"), &format!("after {n}"));
    }
    assert_eq!(messages(&place.reopened(), &tag("wren")).len(), 7);
    place.assert_sound();
}

#[test]
#[ignore = "a process that the test below starts and kills"]
fn endless_tidier() {
    let (garage, _) = told();
    loop {
        let store = open_store(&garage);
        append_until_filed(&store, &tag("rook"), "in between");
        store.tidy(&mut |_| {}).unwrap();
        std::io::stdout().write_all(b"tidied\n").unwrap();
    }
}

#[test]
fn readers_and_writers_go_on_and_a_killed_tidier_costs_nothing() {
    let place = Place::new();
    for n in 0..4 {
        append_until_filed(place.garage.store(), &tag("wren"), &format!("wren {n}"));
    }
    let done = AtomicBool::new(false);
    let path = place.path();
    thread::scope(|scope| {
        let reader = scope.spawn(|| {
            let store = open_store(&path);
            let (mut rounds, mut seen) = (0, 0);
            while !done.load(Ordering::Relaxed) {
                let found = messages(&store, &tag("wren"));
                assert!(found.len() >= seen, "entries were gone for a moment");
                for (n, message) in found.iter().enumerate() {
                    assert_eq!(*message, format!("wren {n}"));
                }
                (rounds, seen) = (rounds + 1, found.len());
            }
            rounds
        });
        let writer = scope.spawn(|| {
            let store = open_store(&path);
            let mut n = 4;
            while !done.load(Ordering::Relaxed) {
                append_until_filed(&store, &tag("wren"), &format!("wren {n}"));
                n += 1;
            }
            n
        });
        for kill in 0..12u64 {
            let mut child = start("packing::endless_tidier", &path, "tidier");
            thread::sleep(Duration::from_millis(60 + 23 * kill));
            child.kill().unwrap();
            child.wait().unwrap();
        }
        done.store(true, Ordering::Relaxed);
        assert!(reader.join().unwrap() > 3);
        let written = writer.join().unwrap();
        assert_eq!(messages(&place.reopened(), &tag("wren")).len(), written);
    });
    let rooks = messages(&place.reopened(), &tag("rook")).len();
    tidy(&place);
    assert_eq!(messages(&place.reopened(), &tag("rook")).len(), rooks);
    assert_eq!(loose(&place), 0);
    place.assert_sound();
}
