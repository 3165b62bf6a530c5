//! A book of 5,000 entries stays light.

use asfound_core::definition::{Definition, DefinitionSet, Identity};
use asfound_core::entry::{
    Author, Body, Covered, Effects, Entry, IdentityEffect, ReadingBody, ReadingRole, Reason, RecordEffect, Vehicle,
    WorkBody,
};
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, RecordName};
use asfound_core::value::HexBytes;
use asfound_report::sheet::SealShown;
use asfound_report::{Book, BookOrder, Language, book_page};
use time::Duration;
use time::macros::datetime;

const RECORDS: u8 = 8;

/// A module with eight records of five settings each.
fn definition() -> String {
    let mut text =
        "format = \"asfound-definition/1\"\nid = \"large\"\ntitle = \"Body\"\n\n[applies_to]\nmodule = \"body\"\n"
            .to_owned();
    for record in 0..RECORDS {
        text += &format!("\n[records.0D0{record}]\nlabel = \"Group {record}\"\nlength = 5\n");
        for byte in 0..5 {
            text += &format!(
                "\n[settings.group_{record}_item_{byte}]\nlabel = \"Item {byte} of group {record}\"\nrecord = \"0D0{record}\"\n\
                 byte = {byte}\nbit = 0\nbits = 8\ntype = \"integer\"\ntags = [\"comfort\"]\n"
            );
        }
    }
    text
}

fn name(record: u8) -> RecordName {
    format!("0D0{record}").parse().expect("a record")
}

/// An enrolment, a reading, then nine changes and a reading again and again.
fn journal(count: u32) -> (Vec<Entry>, DefinitionSet) {
    let mut definitions = DefinitionSet::new();
    definitions.add(Definition::parse(&definition()).expect("a sound definition").definition).expect("one definition");
    let module: asfound_core::names::ModuleName = "body".parse().expect("a module");
    let mut contents = [[0_u8; 5]; RECORDS as usize];
    let mut entries = Vec::new();
    let start = datetime!(2020-01-02 08:00 +1);
    for number in 1..=count {
        let body = match number {
            1 => {
                Body::Enrolled(Vehicle { tag: "wren".parse().expect("a tag"), vin: None, about: None, enrolled: start })
            }
            number if number % 10 == 2 => {
                let first = number == 2;
                let mut effects = Effects::default();
                if first {
                    effects.identities.push(IdentityEffect {
                        module: module.clone(),
                        found: Identity::default(),
                        left: Identity { software: Some("0130".to_owned()), ..Identity::default() },
                    });
                    effects.records = (0..RECORDS)
                        .map(|record| RecordEffect {
                            module: module.clone(),
                            record: name(record),
                            found: None,
                            left: HexBytes::from(contents[usize::from(record)].to_vec()),
                        })
                        .collect();
                }
                let covered = Covered { records: (0..RECORDS).map(name).collect(), ..Covered::default() };
                Body::Reading(ReadingBody {
                    role: if first { ReadingRole::AsFound } else { ReadingRole::Check },
                    partial: false,
                    by: None,
                    tool: None,
                    odometer_km: Some(10_000 + number),
                    supply_voltage: None,
                    situation: asfound_core::reading::Situation::default(),
                    covered: [(module.clone(), covered)].into(),
                    effects,
                })
            }
            number => {
                let record = u8::try_from(number * 7 % u32::from(RECORDS)).expect("small");
                let byte = usize::try_from(number / 8 % 5).expect("small");
                let bytes = &mut contents[usize::from(record)];
                let found = HexBytes::from(bytes.to_vec());
                bytes[byte] = u8::try_from((u32::from(bytes[byte]) + number % 11 + 1) % 12).expect("small");
                let left = HexBytes::from(bytes.to_vec());
                let effect = RecordEffect { module: module.clone(), record: name(record), found: Some(found), left };
                Body::Change(WorkBody {
                    settings: vec![format!("body.group_{record}_item_{byte}").parse().expect("a setting")],
                    effects: Effects { records: vec![effect], ..Effects::default() },
                    ..WorkBody::default()
                })
            }
        };
        let at = start + Duration::hours(i64::from(number) * 9);
        entries.push(Entry {
            number: EntryNumber::new(number).expect("from 1"),
            recorded: at,
            happened: at,
            author: Author::new("Bench 2", None).expect("a name"),
            why: Reason::try_from(format!("the owner would like it otherwise, visit {number}")).expect("a reason"),
            body,
        });
    }
    (entries, definitions)
}

#[test]
fn five_thousand_entries_make_a_light_page() {
    let (entries, definitions) = journal(5_000);
    let history = History::trace(&entries, &definitions).expect("the journal can be traced");
    let seal = SealShown { entries: 5_000, full: "5000:0".to_owned(), short: "05000".to_owned() };
    let printed = datetime!(2026-03-16 17:00 +1);
    let order = BookOrder {
        entries: &entries,
        definitions: &definitions,
        history: &history,
        seal,
        printed,
        language: Language::En,
    };
    let book = Book::of(order).expect("an enrolment");
    assert_eq!(book.lines(), 36);
    let page = book_page(&book);
    assert_eq!(page.matches("<li class=\"e f\"").count(), 5_000);
    // Measured: 2.4 million bytes; `docs/performance.md` says how a browser bears it.
    assert!(page.len() < 3_500_000, "{} bytes", page.len());
    std::fs::write(concat!(env!("CARGO_TARGET_TMPDIR"), "/large-book.html"), &page).expect("a file for the browser");
}
