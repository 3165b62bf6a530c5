//! What a sheet must not claim: each of these was once planted as a fault and not noticed.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::{Effects, ReadingRole};
use asfound_report::sheet::{AccountedBy, FrontPage, ProofLevel, RecordVerdict, Sheet, SheetChange};
use asfound_report::{Language, handover, printed_page};
use support::{Journal, Texts, number};

fn verdicts(sheet: &Sheet) -> Vec<RecordVerdict> {
    sheet.modules.iter().flat_map(|module| module.records.iter().map(|record| record.verdict)).collect()
}

/// The record was read at both moments, but what it holds at the second was stated after the last reading of it.
#[test]
fn what_was_stated_behind_a_reading_in_between_counts_as_not_read() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.read(ReadingRole::Check, "03 40 11", Some("01 02"), |_| {});
    journal.change("flashes", "5");
    journal.note();
    let sheet = journal.sheet_between(Some(2), Some(5)).unwrap();
    let body = sheet.modules.iter().find(|module| module.module.as_str() == "body").unwrap();
    assert_eq!(body.records[0].verdict, RecordVerdict::NotRead);
    assert_eq!(body.records[0].bytes_compared, 0);
    assert_eq!(sheet.changes.len(), 1);
    assert_eq!(sheet.changes[0].level, Some(ProofLevel::Stated));
}

#[test]
fn work_that_was_never_made_is_not_printed_as_made() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    let work = journal.change("flashes", "5");
    let effects = undone(&journal);
    journal.never_made(work, effects);
    journal.read(ReadingRole::AsLeft, "03 40 12", Some("01 02"), |_| {});
    let sheet = journal.sheet().unwrap();
    assert!(sheet.changes.is_empty(), "{:#?}", sheet.changes);
    assert_eq!(verdicts(&sheet), [RecordVerdict::Same, RecordVerdict::Same]);
    let made: Vec<bool> =
        sheet.work.iter().filter(|line| line.entry == number(3)).map(|line| line.never_made).collect();
    assert_eq!(made, [true]);
}

/// What brings the last work back.
fn undone(journal: &Journal) -> Effects {
    let work = journal.entries.last().and_then(|entry| entry.body.work()).expect("work");
    let mut effects = work.effects.clone();
    for record in &mut effects.records {
        let before = record.found.clone().expect("what was there before");
        record.found = Some(std::mem::replace(&mut record.left, before));
    }
    effects
}

#[test]
fn a_record_that_was_refused_once_and_given_later_is_compared() {
    let mut journal = Journal::new(&Texts::default());
    let refuse = |reading: &mut asfound_core::reading::Reading| {
        let body = reading.modules.get_mut(&"body".parse().unwrap()).unwrap();
        body.records.clear();
        body.refused.insert("0D01".parse().unwrap());
    };
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.read(ReadingRole::Check, "03 40 11", Some("01 02"), refuse);
    journal.read(ReadingRole::AsLeft, "03 40 12", Some("01 02"), |_| {});
    assert_eq!(verdicts(&journal.sheet().unwrap()), [RecordVerdict::Same, RecordVerdict::Same]);
    // The other way round it is refused, whatever it gave before.
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.read(ReadingRole::AsLeft, "03 40 11", Some("01 02"), refuse);
    assert_eq!(verdicts(&journal.sheet().unwrap())[0], RecordVerdict::Refused);
}

/// A code that is there as left and was not as found is marked on the page, beside the word; one that was there before is not.
#[test]
fn a_new_trouble_code_is_marked() {
    let mut journal = Journal::new(&Texts::default());
    let with = |codes: &'static [&'static str]| {
        move |reading: &mut asfound_core::reading::Reading| {
            let body = reading.modules.get_mut(&"body".parse().unwrap()).unwrap();
            let code = |text: &&str| asfound_core::trouble_code::ReportedCode::new(text.parse().unwrap(), None);
            body.trouble_codes = Some(codes.iter().map(code).collect());
        }
    };
    journal.read(ReadingRole::AsFound, "03 40 11", None, with(&["B1A05-11"]));
    journal.read(ReadingRole::AsLeft, "03 40 12", None, with(&["B1A04-12", "B1A05-11"]));
    let page = printed_page(&handover(&journal.sheet().unwrap(), Language::En, None).unwrap());
    let marked = |code: &str| {
        let row =
            page.split("<tr").find(|row| row.contains(code)).unwrap_or_else(|| panic!("{code} is not on the page"));
        row.contains('▲')
    };
    assert_eq!((marked("B1A04-12"), marked("B1A05-11")), (true, false));
}

/// Every difference stands under one question of the first page, and under the right one.
#[test]
fn the_first_page_asks_what_was_agreed_to_and_when() {
    let texts = Texts::default();
    let mut journal = Journal::new(&texts);
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.order(&[("body.flashes", "5"), ("cluster.sweep", "on")]);
    journal.change("flashes", "5");
    journal.change("fold", "on");
    let front = |journal: &Journal| {
        let sheet = journal.sheet().unwrap();
        let front = FrontPage::of(&sheet);
        let names =
            |changes: &[&SheetChange]| changes.iter().map(|one| one.field.clone()).collect::<Vec<_>>().join(" ");
        let undone: Vec<String> = front.not_done.iter().map(|one| one.what.clone()).collect();
        [names(&front.as_agreed), names(&front.afterwards), names(&front.not_agreed), undone.join(" ")]
    };
    assert_eq!(front(&journal), ["body.flashes", "", "body.fold", "cluster.sweep"]);
    journal.extend(&[("body.fold", "on")], &["cluster.sweep"]);
    assert_eq!(front(&journal), ["body.flashes", "body.fold", "", ""]);
    journal.extend(&[], &["body.flashes"]);
    assert_eq!(front(&journal), ["", "body.flashes body.fold", "", ""]);
}

/// A span that is asked for is judged by the orders that cover it: nothing else than what the sheet of the order says.
#[test]
fn asking_for_a_span_does_not_turn_the_order_off() {
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    journal.order(&[("body.flashes", "5")]);
    journal.change("flashes", "5");
    journal.change("fold", "on");
    let accounts = |sheet: &Sheet| sheet.changes.iter().map(|one| one.account).collect::<Vec<_>>();
    let of_order = journal.sheet().unwrap();
    assert_eq!(accounts(&of_order), [AccountedBy::AsAuthorised, AccountedBy::WithoutAuthority]);
    let of_span = journal.sheet_between(Some(2), Some(5)).unwrap();
    assert_eq!(accounts(&of_span), accounts(&of_order));
    assert_eq!(of_span.agreements, of_order.agreements);
    // As it was at the second moment: what was done later is no affair of it, and accuses nobody.
    journal.change("flashes", "3");
    let earlier = journal.sheet_between(Some(2), Some(5)).unwrap();
    assert_eq!(accounts(&earlier), accounts(&of_order));
    // Before the order nothing is judged by it.
    let mut before = Journal::new(&Texts::default());
    before.read(ReadingRole::AsFound, "03 40 11", Some("01 02"), |_| {});
    before.change("fold", "on");
    before.order(&[("body.flashes", "5")]);
    before.change("flashes", "5");
    let both = before.sheet_between(Some(2), Some(5)).unwrap();
    assert_eq!(accounts(&both), [AccountedBy::AsAuthorised, AccountedBy::AsRecorded]);
    assert!(!both.is_judged_by_orders());
}

/// A module whose only setting differs was read, and is not told as one that did not answer; one that was left out is.
#[test]
fn a_module_of_which_everything_differs_was_read() {
    let volume = |value: &'static str| {
        move |reading: &mut asfound_core::reading::Reading| {
            let radio = reading.modules.entry("radio".parse().unwrap()).or_default();
            radio.settings.insert("volume".parse().unwrap(), value.to_owned());
        }
    };
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, volume("3"));
    journal.read(ReadingRole::AsLeft, "03 40 11", None, volume("4"));
    let unread = |journal: &Journal| -> Vec<(String, bool)> {
        let sheet = journal.sheet().unwrap();
        FrontPage::of(&sheet).not_read.iter().map(|one| (one.module.to_string(), one.whole)).collect()
    };
    assert_eq!(unread(&journal), []);
    let mut journal = Journal::new(&Texts::default());
    journal.read(ReadingRole::AsFound, "03 40 11", None, volume("3"));
    journal.read(ReadingRole::AsLeft, "03 40 11", None, |_| {});
    assert_eq!(unread(&journal), [("radio".to_owned(), true)]);
}
