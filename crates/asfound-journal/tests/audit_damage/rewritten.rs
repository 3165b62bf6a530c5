//! Entries that were removed, moved, inserted or rewritten, and what only a seal that somebody kept can show.

use asfound_core::entry::{Body, Effects, ReadingRole};
use asfound_journal::merkle::root_of;
use asfound_journal::store::MemoryStore;

use crate::place::{Place, git};
use crate::sheets::{Sheet, audit_of, audited, chain_anew, lines, number_anew, put, seal, sheets, told};
use crate::story::{file, number, reading, tag, tell, tell_until};

fn found(sheets: &[Sheet]) -> Vec<String> {
    lines(&audited(sheets))
}

#[test]
fn an_entry_that_was_removed() {
    let mut sheets = told();
    sheets.remove(3);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 5: it stands where entry 4 should be",
            "tampering, entry 5: its chain counts 4 before it, where 3 would follow",
            "6 checked, sound until 3, lost from 5",
        ]
    );
    // With the numbers closed up behind it.
    number_anew(&mut sheets, 3);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 4: its chain counts 4 before it, where 3 would follow",
            "tampering, entry 5: it was filed after another entry 4 than the one that stands before it",
            "tampering, entry 6: it was filed after another entry 5 than the one that stands before it",
            // The codes were read in what was entry 7.
            "tampering, entry 6: `trouble-codes.toml` does not say what the entries give",
            "6 checked, sound until 3, lost from 4",
        ]
    );
}

#[test]
fn two_entries_that_were_swapped() {
    let mut sheets = told();
    sheets.swap(2, 3);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 4: it stands where entry 3 should be",
            "tampering, entry 4: its chain counts 3 before it, where 2 would follow",
            "tampering, entry 4: `modules/body.toml` does not say what the entries give",
            "tampering, entry 3: it stands where entry 5 should be",
            "tampering, entry 3: its chain counts 2 before it, where 4 would follow",
            "doubt, entry 3: it was recorded at 2026-03-14T11:20:00+01:00, before the entry before it, at \
             2026-03-14T12:20:00+01:00: a clock was wrong",
            "tampering, entry 5: it stands where entry 4 should be",
            "tampering, entry 5: its chain counts 4 before it, where 3 would follow",
            "7 checked, sound until 2, lost from 4",
        ]
    );
}

#[test]
fn an_entry_that_was_inserted_with_its_chain_made_anew() {
    let mut sheets = told();
    let mut inserted = sheets[3].clone();
    let mut entry = inserted.entry();
    entry.number = number(5);
    inserted.message = inserted.message.replacen('4', "5", 1);
    inserted.rewrite(&entry, sheets[3].chain_after());
    sheets.insert(4, inserted);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 5: it stands where entry 6 should be",
            "tampering, entry 5: its chain counts 4 before it, where 5 would follow",
            "8 checked, sound until 5, lost from 5",
        ]
    );
    // And the numbers after it moved up, with the chains that they had.
    number_anew(&mut sheets, 5);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 6: its chain counts 4 before it, where 5 would follow",
            "tampering, entry 7: it was filed after another entry 6 than the one that stands before it",
            "tampering, entry 8: it was filed after another entry 7 than the one that stands before it",
            "tampering, entry 8: `trouble-codes.toml` does not say what the entries give",
            "8 checked, sound until 5, lost from 6",
        ]
    );
}

/// A file of the tree altered, and every later manifest and chain made anew: the entries still tell another story.
#[test]
fn a_module_with_all_that_follows_made_anew() {
    let mut sheets = told();
    for sheet in &mut sheets[2..4] {
        sheet.replace("modules/body.toml", "05 10", "06 10");
    }
    chain_anew(&mut sheets, 2);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 3: `modules/body.toml` does not say what the entries give",
            "7 checked, sound until 2, lost from 3",
        ]
    );
}

/// Whoever rewrites an entry and everything after it, and leaves nothing contradicting it, makes another sound journal. The
/// audit alone cannot tell; a seal that was kept from before can.
#[test]
fn an_entry_with_all_that_follows_made_anew_is_shown_only_by_a_seal() {
    let store = MemoryStore::new();
    tell(&store, &tag("wren"));
    let kept = seal(&audit_of(&store, "wren"));

    let other = MemoryStore::new();
    tell_until(&other, &tag("wren"), 7, "nobody asked the owner");
    let rewritten = audit_of(&other, "wren");
    assert_eq!(lines(&rewritten), ["7 checked, sound until 7, lost from none"]);
    assert_eq!(rewritten.leaves.len(), kept.0);
    assert_ne!(root_of(&rewritten.leaves[..kept.0]).to_string(), kept.1);
}

/// Entries cut off at the end leave a sound journal of fewer entries; only a seal counts more.
#[test]
fn a_branch_set_back_to_an_older_entry_is_shown_only_by_a_seal() {
    let place = Place::told();
    let kept = seal(&audit_of(place.garage.store(), "wren"));
    git(&place.repository(), &["update-ref", "refs/heads/wren", "wren~2"]);
    let shorter = audit_of(place.garage.store(), "wren");
    assert_eq!(lines(&shorter), ["5 checked, sound until 5, lost from none"]);
    assert!(shorter.leaves.len() < kept.0);
}

#[test]
fn a_branch_of_another_car_in_the_place_of_its_own() {
    let place = Place::new();
    tell(place.garage.store(), &tag("wren"));
    tell(place.garage.store(), &tag("rook"));
    git(&place.repository(), &["update-ref", "refs/heads/wren", "rook"]);
    assert_eq!(
        lines(&audit_of(place.garage.store(), "wren")),
        [
            "tampering, entry 1: `vehicle.toml` is about `rook`: this is the journal of another vehicle",
            "7 checked, sound until none, lost from 1",
        ]
    );
}

#[test]
fn entries_of_another_car_after_its_own() {
    let store = MemoryStore::new();
    tell_until(&store, &tag("wren"), 3, "the owner wants five");
    let rook = MemoryStore::new();
    tell(&rook, &tag("rook"));
    put(&store, &tag("wren"), &sheets(&rook, &tag("rook"))[3..]);
    assert_eq!(
        lines(&audit_of(&store, "wren")),
        [
            "tampering, entry 4: `vehicle.toml` is about `rook`: this is the journal of another vehicle",
            "tampering, entry 4: it was filed after another entry 3 than the one that stands before it",
            "7 checked, sound until 2, lost from 3",
        ]
    );
}

/// Filed as it should be, with a clock that was wrong: a doubt, and no trust is lost.
#[test]
fn a_clock_that_was_set_back() {
    let store = MemoryStore::new();
    tell_until(&store, &tag("wren"), 4, "the owner wants five");
    file(&store, &tag("wren"), 1, "a look", &Body::Note(None), &[]);
    file(&store, &tag("wren"), 2, "later", &reading(ReadingRole::Check, Effects::default()), &[]);
    let audit = audit_of(&store, "wren");
    assert_eq!(
        lines(&audit),
        [
            "doubt, entry 5: it was recorded at 2026-03-14T10:20:00+01:00, before the entry before it, at \
             2026-03-14T12:20:00+01:00: a clock was wrong",
            "6 checked, sound until 6, lost from none",
        ]
    );
    assert!(audit.is_sound());
}

#[test]
fn what_happened_after_it_was_recorded_is_remarked_on() {
    let mut sheets = told();
    sheets[6].replace("entry.toml", "happened = \"2026-03-14T15", "happened = \"2026-03-14T16");
    sheets[6].list();
    assert_eq!(
        found(&sheets),
        [
            "remark, entry 7: it tells of what happened at 2026-03-14T16:20:00+01:00 and was recorded before that, at \
             2026-03-14T15:20:00+01:00",
            "7 checked, sound until 7, lost from none",
        ]
    );
}

/// A journal without its enrolment, and one with two.
#[test]
fn the_enrolment() {
    let mut sheets = told();
    sheets.remove(0);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 2: it stands where entry 1 should be",
            "tampering, entry 2: its chain counts 1 before it, where 0 would follow",
            "6 checked, sound until none, lost from 2",
        ]
    );
    let mut sheets = told();
    let again = sheets[0].clone();
    sheets.push(again);
    number_anew(&mut sheets, 7);
    chain_anew(&mut sheets, 7);
    assert_eq!(
        found(&sheets),
        [
            "tampering, entry 8: `definitions/invented-body.toml`, which the entry before had, is gone",
            "doubt, entry 8: it was recorded at 2026-03-14T09:20:00+01:00, before the entry before it, at \
             2026-03-14T15:20:00+01:00: a clock was wrong",
            "tampering, entry 8: a journal starts with the enrolment and has only one",
            "tampering, entry 8: `modules/body.toml` is not there, though the entries tell of the module",
            "tampering, entry 8: `modules/doors.toml` is not there, though the entries tell of the module",
            "tampering, entry 8: `trouble-codes.toml` is not there, though modules were scanned",
            "8 checked, sound until 7, lost from 8",
        ]
    );
}
