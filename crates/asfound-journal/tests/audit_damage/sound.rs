//! A sound journal has no findings, in either store, packed or not.

use std::num::NonZero;

use asfound_journal::audit::{Progress, audit};
use asfound_journal::garage::Garage;
use asfound_journal::journal::JournalError;
use asfound_journal::store::MemoryStore;

use crate::place::{Place, git};
use crate::sheets::{alone, audit_of, audited, chain_anew, lines, number_anew, put, seal, told};
use crate::story::{tag, tell};

#[test]
fn every_kind_of_entry_is_sound_and_both_stores_agree() {
    let memory = MemoryStore::new();
    tell(&memory, &tag("wren"));
    let sound = audit_of(&memory, "wren");
    assert_eq!(lines(&sound), ["7 checked, sound until 7, lost from none"]);
    assert!(sound.is_sound());
    assert_eq!(sound.worst(), None);

    let place = Place::new();
    tell(place.garage.store(), &tag("wren"));
    tell(place.garage.store(), &tag("rook"));
    let in_git = audit_of(place.garage.store(), "wren");
    assert_eq!(in_git, sound);
    git(&place.repository(), &["gc", "--quiet"]);
    let packed = Garage::open(&place.path()).unwrap();
    assert_eq!(audit_of(packed.store(), "wren"), in_git);
    assert_eq!(lines(&audit_of(packed.store(), "rook")), ["7 checked, sound until 7, lost from none"]);
}

/// The last entry states the root over all before it, which the leaves give.
#[test]
fn the_leaves_are_those_that_the_chain_is_made_of() {
    let audit = audited(&told());
    let chain = told()[6].chain();
    let before = asfound_journal::merkle::root_of(&audit.leaves[..6]);
    assert_eq!((chain.entries, chain.root), (6, before));
    assert_eq!(seal(&audit).0, 7);
}

#[test]
fn a_vehicle_without_a_journal_is_an_error() {
    let error = audit(&MemoryStore::new(), &tag("wren"), alone(NonZero::<usize>::MIN), &mut |_| {}).unwrap_err();
    assert!(matches!(error, JournalError::NoVehicle(_)), "{error}");
}

#[test]
fn progress_is_told_after_every_entry() {
    let store = MemoryStore::new();
    tell(&store, &tag("wren"));
    let mut told = Vec::new();
    audit(&store, &tag("wren"), alone(NonZero::<usize>::MIN), &mut |progress| told.push(progress)).unwrap();
    let wanted: Vec<Progress> = (1..=7).map(|checked| Progress { checked, total: 7 }).collect();
    assert_eq!(told, wanted);
}

/// What the other tests alter entries with makes a sound journal where nothing is altered.
#[test]
fn entries_that_are_only_chained_anew_are_sound() {
    let mut sheets = told();
    chain_anew(&mut sheets, 0);
    assert_eq!(lines(&audited(&sheets)), ["7 checked, sound until 7, lost from none"]);
    assert_ne!(seal(&audited(&sheets)), seal(&audited(&told())), "the salts are other ones");
}

/// Several threads find what one finds: in a long journal, sound and with an object missing here and there.
#[test]
fn threads_make_no_difference() {
    let place = Place::new();
    let (wren, store) = (tag("wren"), place.garage.store());
    let mut sheets = told();
    for minutes in 1..=140 {
        let (mut next, mut note) = (sheets[6].clone(), sheets[3].entry());
        note.recorded = next.when + time::Duration::minutes(minutes);
        note.happened = note.recorded;
        (next.when, next.message) = (note.recorded, sheets[3].message.clone());
        next.rewrite(&note, sheets[6].chain());
        sheets.push(next);
    }
    number_anew(&mut sheets, 7);
    chain_anew(&mut sheets, 7);
    put(store, &wren, &sheets);
    let audits =
        || [1, 2, 3, 8].map(|threads| audit(store, &wren, alone(NonZero::new(threads).unwrap()), &mut |_| {}).unwrap());
    let sound = audits();
    assert_eq!(sound[0].entries_checked, 147);
    assert_eq!(sound[0].worst(), None, "{:?}", sound[0].findings);
    assert!(sound.iter().all(|audit| *audit == sound[0]));
    for name in ["wren~140:manifest", "wren~82:entry.toml", "wren~3^{tree}"] {
        std::fs::remove_file(place.object_file(&place.id(name))).unwrap();
    }
    let damaged = audits();
    assert_eq!(damaged[0].findings.len(), 3);
    assert!(damaged.iter().all(|audit| *audit == damaged[0]));
}
