//! An index that somebody forged, checksums and all: nothing rests on what it tells.

use std::collections::BTreeSet;
use std::fs;
use std::num::NonZero;

use asfound_core::entry::Body;
use asfound_core::history::History;
use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::journal::{Basis, EntryIndex, FileError, Journal, JournalError};
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::{GitStore, Store};

use crate::index_forger::ForgedIndex;
use crate::story::{change, definitions, draft, number, tag, tell};
use crate::support::Place;

/// The content of the record as the index has it: its length and its bytes.
const fn bytes(flashes: u8) -> [u8; 3] {
    [2, flashes, 0x10]
}

/// A way to forge the index of the story, in which entry 2 reads 3 flashes, entry 3 makes them 5, and entry 5 puts that back.
type Forgery = fn(ForgedIndex) -> ForgedIndex;

/// Each with the first entry of which it lies.
const FORGERIES: [(&str, u32, Forgery); 5] = [
    ("what is known now", 2, |index| {
        let index = index.replace(2, &bytes(3), &bytes(2)).replace(3, &bytes(3), &bytes(2));
        index.replace(5, &bytes(3), &bytes(2))
    }),
    ("what was known then", 3, |index| index.replace(3, &bytes(5), &bytes(7)).replace(5, &bytes(5), &bytes(7))),
    ("entries that do not follow from each other", 3, |index| index.replace(3, &bytes(5), &bytes(7))),
    ("another commit in the place of an entry's own", 4, |index| index.with_commit_of(4, 2)),
    ("another author", 7, |index| index.replace(7, b"Edda", b"Adda")),
];

/// A garage with the story, and the forged index; and how the index was.
fn forged(forge: Forgery) -> (Place, Vec<u8>) {
    let place = Place::new();
    tell(place.garage.store(), &tag("wren"));
    place.assert_same("wren");
    let file = place.index_file("wren");
    let whole = fs::read(&file).unwrap();
    forge(ForgedIndex::open(&file)).save(&file);
    assert!(fs::read(&file).unwrap() != whole);
    (place, whole)
}

fn journal(place: &Place) -> Journal<'_, GitStore> {
    Journal::new(place.garage.store(), tag("wren"))
}

fn disagreed(place: &Place) -> bool {
    place.garage.store().index().unwrap().disagreed() == [tag("wren")]
}

fn findings(place: &Place) -> Vec<String> {
    let (allowed, threads) = (AllowedSigners::default(), NonZero::<usize>::MIN);
    let audit =
        audit(place.garage.store(), &tag("wren"), AuditOptions { allowed: &allowed, threads }, &mut |_| {}).unwrap();
    assert!(audit.is_sound());
    assert_eq!(audit.sound_until, Some(number(7)));
    audit.findings.iter().map(ToString::to_string).collect()
}

#[test]
fn an_audit_finds_it_and_has_it_made_anew() {
    for (lie, entry, forge) in FORGERIES {
        let (place, whole) = forged(forge);
        let wanted = format!(
            "doubt, entry {entry}: the index says something else of it than the journal does; it was thrown away and is made anew"
        );
        assert_eq!(findings(&place), [wanted], "{lie}");
        assert!(fs::read(place.index_file("wren")).unwrap() == whole, "{lie}");
        assert_eq!(findings(&place), [""; 0], "{lie}");
        place.assert_same("wren");
    }
}

/// An index that is behind, cut short, damaged, of another version or of a line that was left is not believed: no finding.
#[test]
fn an_audit_finds_nothing_in_an_index_that_is_not_believed() {
    let (place, whole) = forged(FORGERIES[0].2);
    let (file, line) = (place.index_file("wren"), place.garage.store().line(&tag("wren")).unwrap());
    let cut = whole.len() - 30;
    for other in
        [&whole[..cut], &whole[..40], b"", &[whole.as_slice(), b"rubbish"].concat(), b"asfound-index/1 wren\nx"]
    {
        fs::write(&file, other).unwrap();
        assert_eq!(findings(&place), [""; 0]);
    }
    // From entry 3 on another way, and the index is still that of the first one.
    let place = Place::new();
    let store = place.garage.store();
    tell(store, &tag("wren"));
    place.assert_same("wren");
    let first = fs::read(place.index_file("wren")).unwrap();
    place.set_branch("wren", line[2].as_str());
    crate::story::file(store, &tag("wren"), 9, "otherwise", &change("05 10", "02 10"), &[]);
    fs::write(place.index_file("wren"), first).unwrap();
    let (allowed, threads) = (AllowedSigners::default(), NonZero::<usize>::MIN);
    let audit = audit(store, &tag("wren"), AuditOptions { allowed: &allowed, threads }, &mut |_| {}).unwrap();
    assert_eq!((audit.findings.as_slice(), audit.entries_checked), ([].as_slice(), 4));
}

fn followed(place: &Place) -> (EntryIndex, History) {
    journal(place).followed(&definitions()).unwrap()
}

/// What is found to disagree by what rests on it: on the present alone, on entry 3, on the state after entry 3.
#[test]
fn what_something_rests_on_is_held_against_the_journal() {
    let bases = [
        Basis::default(),
        Basis { entries: BTreeSet::from([number(3)]), back_to: None },
        Basis { entries: BTreeSet::new(), back_to: Some(number(3)) },
    ];
    let expected = [[false; 3], [true, false, false], [true; 3], [true, false, false], [true; 3]];
    for ((lie, _, forge), confirmed) in FORGERIES.into_iter().zip(expected) {
        let (place, _) = forged(forge);
        let (index, history) = followed(&place);
        let confirms = |basis| journal(&place).confirms(&index, history.state(), &definitions(), basis).unwrap();
        assert_eq!(bases.each_ref().map(confirms), confirmed, "{lie}");
        // One that does not fold is thrown away when it is read.
        assert_eq!(disagreed(&place), lie.starts_with("entries that do not follow"), "{lie}");
        journal(&place).disown_index();
        let (index, history) = followed(&place);
        for basis in &bases {
            assert!(journal(&place).confirms(&index, history.state(), &definitions(), basis).unwrap(), "{lie}");
        }
        place.assert_same("wren");
    }
}

/// An untouched index is confirmed, whatever rests on it.
#[test]
fn an_index_that_agrees_is_confirmed() {
    let place = Place::new();
    tell(place.garage.store(), &tag("wren"));
    place.assert_same("wren");
    let (index, history) = followed(&place);
    for at in 1..=7 {
        for basis in [
            Basis { entries: BTreeSet::from([number(at)]), back_to: None },
            Basis { entries: BTreeSet::new(), back_to: Some(number(at)) },
        ] {
            assert!(journal(&place).confirms(&index, history.state(), &definitions(), &basis).unwrap(), "{basis:?}");
        }
    }
    assert!(!disagreed(&place));
}

/// Whoever files is asked again with what the journal says, and the journal stays sound.
#[test]
fn what_is_filed_rests_on_the_journal() {
    for (lie, _, forge) in FORGERIES {
        let (place, _) = forged(forge);
        let mut told = Vec::new();
        let filed = journal(&place).file(&definitions(), |before| {
            let record = before.history.state().record(&"body".parse().unwrap(), &"0D01".parse().unwrap()).unwrap();
            let found = record.bytes.to_string();
            told.push(found.clone());
            Ok::<_, JournalError>(draft(30, &change(&found, "04 10"), &[]))
        });
        let filed = filed.unwrap_or_else(|error| panic!("{lie}: {}", shown(error)));
        assert_eq!(filed.entry.number, number(8));
        assert_eq!(told.last().unwrap(), "03 10", "{lie}");
        let asked = if lie == "what is known now" { 2 } else { 1 };
        assert_eq!(told.len(), asked, "{lie}");
        let Body::Change(work) = filed.entry.body else { panic!("it is a change") };
        assert_eq!(work.effects.records[0].found, Some("03 10".parse().unwrap()), "{lie}");
        let (allowed, threads) = (AllowedSigners::default(), NonZero::<usize>::MIN);
        let means = AuditOptions { allowed: &allowed, threads };
        let audit = audit(place.garage.store(), &tag("wren"), means, &mut |_| {}).unwrap();
        assert!(audit.is_sound(), "{lie}: {:?}", audit.findings);
    }
}

fn shown(error: FileError<JournalError>) -> String {
    match error {
        FileError::Journal(error) | FileError::Refused(error) => error.to_string(),
    }
}

/// A seal over what the index tells would be one over nothing: it is refused once, and the index is no authority then.
#[test]
fn a_seal_is_over_the_journal() {
    for (lie, _, forge) in FORGERIES {
        let (place, _) = forged(forge);
        let sealed = journal(&place).seal(None);
        assert!(matches!(sealed, Err(JournalError::IndexDisagreed(_))), "{lie}: {sealed:?}");
        assert!(disagreed(&place), "{lie}");
        assert_eq!(journal(&place).seal(None).unwrap(), Journal::new(&place.plain(), tag("wren")).seal(None).unwrap());
    }
}

/// Nobody is told that the journal is damaged because the index names another commit.
#[test]
fn an_entry_by_number_is_that_of_the_journal() {
    let (place, _) = forged(FORGERIES[3].2);
    let index = journal(&place).index().unwrap();
    let entry = journal(&place).numbered(&index, number(4)).unwrap();
    assert_eq!(entry.entry.number, number(4));
    assert!(disagreed(&place));
}
