//! Entries that are filed together are those that are filed one by one.

use asfound_core::entry::{
    Body, BusLogBody, BusPlace, FiledLog, LogDigest, Mending, ReadingRole, WireAction, WireAnswer, WireGap,
    WireMovement, WireWrite,
};
use asfound_journal::journal::{EntryDraft, Journal, JournalError};
use asfound_journal::store::{CommitId, MemoryStore, Store};

use crate::place::Place;
use crate::sheets::{audit_of, lines};
use crate::story::{START, change, definitions, draft, enrolled, first_reading, number, reading, tag};

fn witness() -> Body {
    let bytes = |text: &str| Some(text.parse().unwrap());
    let name = || "body".parse().unwrap();
    let place = BusPlace { asked: vec!["7DF".to_owned(), "7E0".to_owned()], answers: "7E8".to_owned() };
    Body::Witness(BusLogBody {
        journal_later_ms: Some(-1500),
        put_later_ms: Some(1500),
        filed: vec![number(2), number(3)],
        logs: vec![FiledLog {
            name: "drive.log".to_owned(),
            sha256: LogDigest::try_from("0f".repeat(32)).unwrap(),
            bytes: 4035,
            first: Some(START),
            last: Some(START + time::Duration::milliseconds(1)),
        }],
        modules: [(name(), vec![place])].into(),
        writes: vec![WireWrite {
            module: name(),
            record: "0D01".parse().unwrap(),
            at: Some(START + time::Duration::milliseconds(1)),
            found: bytes("03 10"),
            written: bytes("05 10"),
            answer: WireAnswer::Refused,
            refusal: bytes("33"),
            read_back: bytes("03 10"),
            entry: Some(number(3)),
            shown_by: Some(number(4)),
            tester: Some("7E0".to_owned()),
            own: true,
            mended: vec![Mending::PartMissing],
            gap: bytes("05").map(|before| WireGap { before, missing: 1, after: None }),
        }],
        actions: vec![WireAction { module: name(), at: None, what: "restart".to_owned(), answer: WireAnswer::None }],
        moved: vec![WireMovement {
            module: name(),
            record: "0D02".parse().unwrap(),
            bits: "00 0F".parse().unwrap(),
            times: 17,
            from: Some(START),
            until: Some(START + time::Duration::milliseconds(1)),
        }],
    })
}

/// What the entries after the first hold: evidence, a module that becomes different, codes, a definition, a witness.
fn drafts() -> Vec<EntryDraft> {
    vec![
        draft(1, &first_reading(), &[("a.log", "a")]),
        draft(2, &change("03 10", "05 10"), &[]),
        draft(3, &change("05 10", "04 10"), &[("b.log", "b")]),
        draft(4, &reading(ReadingRole::AsLeft, asfound_core::entry::Effects::default()), &[]),
        draft(5, &witness(), &[("kept.log", "c")]),
    ]
}

fn enrol(store: &impl Store) {
    let (wren, definitions) = (tag("wren"), definitions());
    let draft = draft(0, &enrolled(&wren), &[]);
    Journal::new(store, wren).file(&definitions, |_| Ok::<_, JournalError>(draft.clone())).unwrap();
}

fn line(store: &impl Store) -> Vec<CommitId> {
    store.line(&tag("wren")).unwrap()
}

fn one_by_one(store: &impl Store) -> Vec<CommitId> {
    enrol(store);
    for draft in drafts() {
        Journal::new(store, tag("wren")).file(&definitions(), |_| Ok::<_, JournalError>(draft.clone())).unwrap();
    }
    line(store)
}

fn together(store: &impl Store) -> Vec<CommitId> {
    enrol(store);
    let journal = Journal::new(store, tag("wren"));
    let filed = journal.file_all(&definitions(), |_| Ok::<_, JournalError>(drafts())).unwrap();
    let line = line(store);
    assert_eq!(filed.iter().map(|filed| filed.commit.clone()).collect::<Vec<_>>(), line[1..]);
    line
}

#[test]
fn filed_together_or_one_by_one_they_are_the_same_commits() {
    assert_eq!(together(&MemoryStore::new()), one_by_one(&MemoryStore::new()));
    let (a, b) = (Place::new(), Place::new());
    assert_eq!(together(a.garage.store()), one_by_one(b.garage.store()));
    assert_eq!(lines(&audit_of(a.garage.store(), "wren")), ["6 checked, sound until 6, lost from none"]);
}

#[test]
fn a_witness_is_read_back_as_it_was_filed() {
    let store = MemoryStore::new();
    together(&store);
    let last = Journal::new(&store, tag("wren")).last().unwrap();
    assert_eq!(last.entry.body, witness());
    let text = String::from_utf8(store.file(&last.commit, "entry.toml").unwrap()).unwrap();
    // Its section goes with its kind alone.
    for (this, that) in [("kind = \"witness\"", "kind = \"note\""), ("[witness]", "[other]")] {
        assert!(text.contains(this));
        let file = asfound_journal::entry_files::EntryFile::parse(&text.replacen(this, that, 1));
        assert!(file.and_then(|file| file.into_entry(|| None)).is_err(), "{that}");
    }
}

#[test]
fn one_that_does_not_follow_keeps_all_from_being_filed() {
    let store = MemoryStore::new();
    enrol(&store);
    let before = line(&store);
    let mut drafts = drafts();
    drafts[2] = draft(3, &change("07 10", "04 10"), &[]);
    let filed = Journal::new(&store, tag("wren")).file_all(&definitions(), |_| Ok::<_, JournalError>(drafts.clone()));
    assert!(filed.is_err());
    assert_eq!(line(&store), before);
}
