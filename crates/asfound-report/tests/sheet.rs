//! What a sheet claims is what was compared, and no more.

mod support;

use asfound_core::entry::ReadingRole;
use asfound_report::sheet::{AccountedBy, MomentsError, ProofLevel, RecordVerdict, Sheet, SheetError, SheetLimit};
use support::{Journal, Texts, number, story};

fn verdicts(sheet: &Sheet) -> Vec<(String, RecordVerdict, usize, usize)> {
    let records = sheet.modules.iter().flat_map(|module| {
        module.records.iter().map(move |record| (format!("{}:{}", module.module, record.record), record))
    });
    records.map(|(name, record)| (name, record.verdict, record.bytes_compared, record.bytes_volatile)).collect()
}

fn accounts<'s>(sheet: &'s Sheet<'_>) -> Vec<(&'s str, AccountedBy, Option<ProofLevel>)> {
    sheet.changes.iter().map(|change| (change.field.as_str(), change.account, change.level)).collect()
}

#[test]
fn recorded_work_that_was_read_back_and_everything_else_the_same() {
    let sheet = story(&Texts::default()).sheet().unwrap();
    assert_eq!((sheet.found.entry, sheet.left.entry), (number(2), number(6)));
    // Byte 2 of the body's record changes by itself: two bytes are compared there, four in the cluster's.
    assert_eq!(
        verdicts(&sheet),
        [
            ("body:0D01".to_owned(), RecordVerdict::ChangedAsAgreed, 2, 1),
            ("cluster:2A00".to_owned(), RecordVerdict::Same, 4, 0),
        ]
    );
    let read_back = Some(ProofLevel::ReadBack(number(6)));
    assert_eq!(
        accounts(&sheet),
        [("body.flashes", AccountedBy::AsRecorded, read_back), ("body.fold", AccountedBy::AsRecorded, read_back)]
    );
    assert_eq!(sheet.codes[0].new.len(), 1);
    assert!(!sheet.codes[1].examined);
    assert_eq!(sheet.limits, [SheetLimit::CodesNotExamined { modules: 1 }]);
}

/// As found, an order, two changes, as left.
fn ordered(authorised: &[(&str, &str)]) -> Journal {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.order(authorised);
    journal.change("flashes", "5");
    journal.change("fold", "on");
    journal.read(ReadingRole::AsLeft, "0D 40 12", Some("01 02"), |_| {});
    journal
}

#[test]
fn an_order_tells_authorised_work_from_other_work() {
    let sheet = ordered(&[("body.flashes", "5"), ("body.fold", "on")]).sheet().unwrap();
    assert!(sheet.changes.iter().all(|change| change.account == AccountedBy::AsAuthorised));
    assert!(sheet.undone.is_empty());
    let sheet = ordered(&[("body.flashes", "4")]).sheet().unwrap();
    assert!(sheet.changes.iter().all(|change| change.account == AccountedBy::WithoutAuthority));
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::ChangedOtherwise);
    assert_eq!((sheet.undone[0].what.as_str(), sheet.undone[0].value.as_deref()), ("body.flashes", Some("4")));
    // The record as a whole, down to bits that nobody named and a byte that changes by itself.
    let sheet = ordered(&[("body:0D01", "0D 40 12")]).sheet().unwrap();
    assert!(sheet.changes.iter().all(|change| change.account == AccountedBy::AsAuthorised), "{:#?}", sheet.changes);
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::ChangedAsAgreed);
}

/// The sheet says of what a reading shows and nobody recorded what the order says of it.
#[test]
fn what_a_reading_shows_and_the_order_names_is_as_authorised() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
    journal.order(&[("body.flashes", "5")]);
    // Bit 3 (folding) and bit 7 (without a name) were not ordered.
    journal.read(ReadingRole::AsLeft, "8D 40 12", None, |_| {});
    let sheet = journal.sheet().unwrap();
    let read = Some(ProofLevel::Read(number(4)));
    assert_eq!(
        accounts(&sheet),
        [
            ("body.flashes", AccountedBy::AsAuthorised, read),
            ("body.fold", AccountedBy::AnotherHand, read),
            ("body:0D01 byte 0 bit 7", AccountedBy::CannotTell, read),
        ]
    );
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::ChangedOtherwise);
    // The whole record was ordered: bits without a name are covered too, though nobody recorded the work.
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
    journal.order(&[("body:0D01", "8D 40 12")]);
    journal.read(ReadingRole::AsLeft, "8D 40 12", None, |_| {});
    let sheet = journal.sheet().unwrap();
    assert!(sheet.changes.iter().all(|change| change.account == AccountedBy::AsAuthorised), "{:#?}", sheet.changes);
    assert_eq!((sheet.changes.len(), verdicts(&sheet)[0].1), (3, RecordVerdict::ChangedAsAgreed));
}

/// Another unit of the module, as ordered or not: its settings, and its bits without a name, came with it.
#[test]
fn what_came_with_an_authorised_unit_is_accounted_for() {
    let swapped = |authorised: &[(&str, &str)]| {
        let mut journal = Journal::new(&Texts::default());
        journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
        journal.order(authorised);
        journal.read(ReadingRole::AsLeft, "94 41 12", None, |reading| {
            let body = reading.modules.get_mut(&"body".parse().unwrap()).unwrap();
            body.identity.serial = Some("S-0077".to_owned());
        });
        journal.sheet().unwrap()
    };
    let sheet = swapped(&[("body", "unit")]);
    assert!(sheet.changes.len() >= 2 && sheet.totals.undeclared_bits > 0, "{:#?}", sheet.changes);
    assert!(sheet.changes.iter().all(|change| change.account == AccountedBy::WithUnit), "{:#?}", sheet.changes);
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::ChangedAsAgreed);
    assert!(sheet.undone.is_empty());
    let sheet = swapped(&[]);
    let of = |account: AccountedBy| sheet.changes.iter().filter(move |change| change.account == account).count();
    assert_eq!(
        (of(AccountedBy::AnotherHand), of(AccountedBy::CannotTell)),
        (1, sheet.changes.len() - 1),
        "{:#?}",
        sheet.changes
    );
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::ChangedOtherwise);
    // A setting that was ordered beside, and that the new unit does not have.
    let sheet = swapped(&[("body", "unit"), ("body.flashes", "5")]);
    assert!(sheet.changes.iter().all(|change| change.account == AccountedBy::WithUnit), "{:#?}", sheet.changes);
    assert_eq!(sheet.undone[0].what, "body.flashes");
}

#[test]
fn a_contradiction_within_an_order_says_what_is_left() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
    journal.order(&[("body.flashes", "5")]);
    journal.change("flashes", "5");
    journal.read(ReadingRole::AsLeft, "04 40 12", None, |_| {});
    let sheet = journal.sheet().unwrap();
    let level = Some(ProofLevel::Contradicted(number(5)));
    assert_eq!(accounts(&sheet), [("body.flashes", AccountedBy::WithoutAuthority, level)]);
    assert_eq!(sheet.undone[0].what, "body.flashes");
}

#[test]
fn of_bits_without_a_name_that_nobody_recorded_nobody_can_tell() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
    journal.change("flashes", "5");
    // Bit 7 of byte 0 is named by nobody and was written by nobody.
    journal.read(ReadingRole::AsLeft, "85 40 12", None, |_| {});
    let sheet = journal.sheet().unwrap();
    assert_eq!(
        accounts(&sheet),
        [
            ("body.flashes", AccountedBy::AsRecorded, Some(ProofLevel::ReadBack(number(4)))),
            ("body:0D01 byte 0 bit 7", AccountedBy::CannotTell, Some(ProofLevel::Read(number(4)))),
        ]
    );
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::CannotTell);
    assert_eq!(sheet.totals.undeclared_bits, 1);
}

#[test]
fn what_was_stated_and_not_read_is_no_verdict() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.change("flashes", "5");
    journal.note();
    let sheet = journal.sheet().unwrap();
    assert!(verdicts(&sheet).iter().all(|record| record.1 == RecordVerdict::NotRead && record.2 == 0));
    assert_eq!(sheet.totals.records_compared(), 0);
    assert_eq!(accounts(&sheet), [("body.flashes", AccountedBy::AsRecorded, Some(ProofLevel::Stated))]);
    for limit in
        [SheetLimit::NotReadAsLeft, SheetLimit::RecordsNotRead { records: 2 }, SheetLimit::NotReadBack { changes: 1 }]
    {
        assert!(sheet.limits.contains(&limit), "{limit:?} in {:?}", sheet.limits);
    }
}

#[test]
fn a_change_put_right_by_hand_without_a_reading_is_not_called_the_same() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
    journal.change("flashes", "5");
    journal.change("flashes", "3");
    let sheet = journal.sheet().unwrap();
    assert!(sheet.changes.is_empty());
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::NotRead);
}

#[test]
fn a_record_that_is_refused_or_left_out_is_said_to_be() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.read(ReadingRole::AsLeft, "03 40 11", None, |reading| {
        let body = reading.modules.get_mut(&"body".parse().unwrap()).unwrap();
        body.records.clear();
        body.refused.insert("0D01".parse().unwrap());
    });
    let sheet = journal.sheet().unwrap();
    let all: Vec<RecordVerdict> = verdicts(&sheet).iter().map(|record| record.1).collect();
    assert_eq!(all, [RecordVerdict::Refused, RecordVerdict::NotRead]);
}

#[test]
fn a_contradiction_is_not_agreed() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, |_| {});
    journal.change("flashes", "5");
    journal.read(ReadingRole::AsLeft, "04 40 12", None, |_| {});
    let sheet = journal.sheet().unwrap();
    assert_eq!(accounts(&sheet), [("body.flashes", AccountedBy::Contradiction, Some(ProofLevel::Read(number(4))))]);
    assert_eq!(verdicts(&sheet)[0].1, RecordVerdict::ChangedOtherwise);
}

#[test]
fn moments_that_are_none_are_refused() {
    let journal = Journal::new(&Texts::default());
    assert!(matches!(journal.sheet(), Err(SheetError::Moments(MomentsError::NothingRead))));
    let journal = story(&Texts::default());
    let order = journal.sheet_between(Some(6), Some(2));
    assert!(matches!(order, Err(SheetError::Moments(MomentsError::Order { .. }))));
    let missing = journal.sheet_between(None, Some(9));
    assert!(matches!(missing, Err(SheetError::Moments(MomentsError::NoEntry(_)))));
}

#[test]
fn a_number_belongs_to_one_sheet() {
    let sheet = story(&Texts::default()).sheet().unwrap();
    let again = story(&Texts::default()).sheet().unwrap();
    let other = story(&Texts { customer: "R. Quilt".to_owned(), ..Texts::default() }).sheet().unwrap();
    assert_eq!(sheet.number, again.number);
    assert_ne!(sheet.number, other.number);
}
