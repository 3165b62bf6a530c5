//! What is printed in one language has no words of another, but for what people and definitions wrote.

mod support;

use std::collections::BTreeSet;

use asfound_core::difference::compare;
use asfound_core::state::State;
use asfound_report::{
    ComparedSide, ComparedSides, Language, Paper, Printed, compared, handover, pdf, printed_page, text,
};
use html5ever::tendril::TendrilSink;
use html5ever::tree_builder::TreeBuilderOpts;
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use support::everything::everything;
use support::{BODY, Journal, Texts, number};
use time::macros::datetime;

/// Words that both languages have, and names that stay as they are: of the program, of commands and files, of a tag, modules,
/// settings and records.
const BOTH: &str = "code codes status hardware software system name bytes byte bit bits ein in wren body cluster radio flashes fold \
                    speed stations colour september april august so was also
                    an hand repository start asfound audit seal git docs format md sha qr javascript pdf journal journals vin km";

/// Everything that a page says to anybody: its text, and the attributes that are read out or shown.
fn said(html: &str) -> String {
    fn walk(node: &Handle, all: &mut String) {
        match &node.data {
            NodeData::Text { contents } => {
                all.push_str(&contents.borrow());
                all.push(' ');
            }
            NodeData::Element { name, attrs, .. } => {
                if matches!(&*name.local, "style" | "script" | "code") {
                    return;
                }
                for attribute in attrs.borrow().iter() {
                    if matches!(&*attribute.name.local, "aria-label" | "alt" | "title" | "placeholder" | "data-words") {
                        all.push_str(&attribute.value);
                        all.push(' ');
                    }
                }
            }
            _ => {}
        }
        node.children.borrow().iter().for_each(|child| walk(child, all));
    }
    // As a browser without JavaScript reads it, which shows what stands in `noscript`.
    let tree_builder = TreeBuilderOpts { scripting_enabled: false, ..TreeBuilderOpts::default() };
    let options = html5ever::ParseOpts { tree_builder, ..html5ever::ParseOpts::default() };
    let dom = html5ever::parse_document(RcDom::default(), options).one(html);
    let mut all = String::new();
    walk(&dom.document, &mut all);
    all
}

/// Words of two letters or more, in small letters; numbers and identifiers with digits are none.
fn words(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| word.len() > 1 && word.chars().all(char::is_alphabetic))
        .filter(|word| word.chars().any(|c| c.is_ascii_lowercase() || "äöüß".contains(c)))
        .map(str::to_lowercase)
        .collect()
}

fn sheet(journal: &Journal, language: Language) -> Printed<'static> {
    handover(Box::leak(Box::new(journal.sheet().expect("a sheet"))), language, None).expect("a seal fits")
}

fn side_by_side(journal: &Journal, language: Language) -> Printed<'static> {
    let at =
        |last: u32| State::fold(journal.entries.iter().filter(|entry| entry.number <= number(last))).expect("sound");
    let definitions = &journal.definitions;
    let last = u32::try_from(journal.entries.len()).expect("few");
    let history = journal.history();
    let comparison = compare(&at(2), &at(last), definitions, definitions, history.movements());
    let sides = ComparedSides {
        found: ComparedSide::Entry(number(2)),
        left: ComparedSide::Entry(number(last)),
        about: "wren".to_owned(),
        printed: datetime!(2026-03-16 17:00 +1),
    };
    compared(&comparison, &sides, language)
}

/// What a German print has in common with the English one is what nobody put into a language.
#[test]
fn nothing_is_left_in_english() {
    // Greek letters, so that what people wrote cannot be mistaken for a word of either language.
    let journal = everything(&Texts::all("ΩΨ"));
    let known: BTreeSet<String> = words(BOTH).into_iter().chain(words(BODY)).collect();
    let mut compared = 0;
    let mut left_over = BTreeSet::new();
    let mut hold = |en: &str, de: &str| {
        let (en, de) = (words(en), words(de));
        compared += de.len();
        left_over.extend(en.intersection(&de).filter(|word| !known.contains(*word)).cloned());
    };
    let [en, de] = Language::ALL.map(|language| sheet(&journal, language));
    hold(&text(&en, 80), &text(&de, 80));
    hold(&said(&printed_page(&en)), &said(&printed_page(&de)));
    let [en, de] = Language::ALL.map(|language| side_by_side(&journal, language));
    hold(&text(&en, 80), &text(&de, 80));
    hold(&said(&printed_page(&en)), &said(&printed_page(&de)));
    let [en, de] = Language::ALL.map(|language| journal.book(language));
    hold(&said(&en), &said(&de));
    assert!(left_over.is_empty(), "{left_over:?}");
    assert!(compared > 600, "only {compared} words");
}

/// The journal of that test says everything that a sheet can say.
#[test]
fn the_journal_of_everything_has_everything() {
    let journal = everything(&Texts::default());
    let sheet = journal.sheet().expect("a sheet");
    let totals = sheet.totals;
    assert!(totals.changed_otherwise > 0 && totals.not_read > 0 && totals.refused > 0, "{totals:?}");
    assert_eq!((sheet.undone.len(), sheet.amendments.len(), sheet.noticed.len()), (5, 1, 1), "{:#?}", sheet.undone);
    let body = &sheet.codes[0];
    assert_eq!((body.there_before.len(), body.new.len(), body.gone.len()), (1, 1, 1));
    assert_eq!(sheet.codes[1].last_known.len(), 1);
    assert!(sheet.trials.len() == 2 && sheet.limits.len() >= 4, "{:#?} {:#?}", sheet.trials, sheet.limits);
    assert!(pdf(&handover(&sheet, Language::De, None).expect("a seal fits"), Paper::A4).is_ok());
    insta::assert_snapshot!(text(&handover(&sheet, Language::De, None).expect("a seal fits"), 100));
}
