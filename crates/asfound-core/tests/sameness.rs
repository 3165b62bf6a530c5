//! The one comparison of values, held against a writer of values that shares nothing with it: it knows what is meant and writes
//! that down in the ways that people and programs do.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]

mod support;

use asfound_core::difference::{Content, compare};
use asfound_core::entry::{AuthorisedItem, Body, IdentityEffect, OrderTerms, Reason};
use asfound_core::history::{Doubt, HandKind, Origin, Proof};
use asfound_core::identity::Identity;
use asfound_core::movement::Movements;
use asfound_core::sameness::{Incomparable, Sameness, compare_identity_texts, compare_texts};
use asfound_core::work_order::{LineGroup, orders, outcome};
use proptest::prelude::*;
use support::*;

/// What somebody means.
#[derive(Debug, Clone, PartialEq)]
enum Meaning {
    /// A number of hundredths, with a unit.
    Number(i32, Option<&'static str>),
    Bytes(Vec<u8>),
    Switch(bool),
    Words(Vec<&'static str>),
}

/// How it is written down: one number for each choice of the writer.
type Hand = [u8; 6];

fn meaning() -> impl Strategy<Value = Meaning> {
    let unit = prop::sample::select(vec![None, None, Some("s"), Some("km/h"), Some("Volt"), Some("%")]);
    let word = prop::sample::select(vec!["comfort", "closing", "Größe", "été", "Ψυχή", "window"]);
    prop_oneof![
        (-2000i32..200_000, unit).prop_map(|(number, unit)| Meaning::Number(number, unit)),
        prop::collection::vec(any::<u8>(), 2..5).prop_map(Meaning::Bytes),
        any::<bool>().prop_map(Meaning::Switch),
        prop::collection::vec(word, 1..3).prop_map(Meaning::Words),
    ]
}

/// The decimals that a number of hundredths needs.
fn decimals(hundredths: i32) -> usize {
    [100, 10, 1].iter().position(|step| hundredths % step == 0).unwrap_or(2)
}

fn write(meaning: &Meaning, hand: Hand) -> String {
    let space = ["", " ", "\u{a0}", "\u{202f}"][usize::from(hand[0] % 4)];
    match meaning {
        Meaning::Number(hundredths, unit) => {
            // Never three decimals: they might be thousands.
            let places = decimals(*hundredths).max(usize::from(hand[1] % 3));
            let (whole, rest) = (hundredths.abs() / 100, hundredths.abs() % 100);
            let rest = format!("{rest:02}")[..places].to_owned();
            let point = if places == 0 { "" } else { [".", ","][usize::from(hand[2] % 2)] };
            let minus = if *hundredths < 0 { ["-", "\u{2212}"][usize::from(hand[3] % 2)] } else { "" };
            let zeros = "0".repeat(usize::from(hand[4] % 3));
            let unit = unit.map_or_else(String::new, |unit| format!("{space}{unit}"));
            format!("{minus}{zeros}{whole}{point}{rest}{unit}")
        }
        Meaning::Bytes(bytes) => {
            let prefix = ["", "0x", "0X", "$"][usize::from(hand[1] % 4)];
            let between = if prefix.is_empty() { " " } else { [" ", ", ", "  "][usize::from(hand[2] % 3)] };
            let digits = bytes.iter().map(|byte| match hand[3] % 2 {
                0 => format!("{prefix}{byte:02X}"),
                _ => format!("{prefix}{byte:02x}"),
            });
            digits.collect::<Vec<_>>().join(between)
        }
        Meaning::Switch(on) => {
            let word = [["on", "off"], ["ein", "aus"]][usize::from(hand[1] % 2)][usize::from(!on)];
            cased(word, hand[2])
        }
        Meaning::Words(words) => {
            let words: Vec<String> = words.iter().map(|word| cased(word, hand[2])).collect();
            let text = words.join([" ", "  ", "\t", "\u{a0}"][usize::from(hand[1] % 4)]);
            // Decomposed: each accent a character of its own.
            if hand[3].is_multiple_of(2) {
                text
            } else {
                text.replace('é', "e\u{301}").replace('É', "E\u{301}").replace('ö', "o\u{308}")
            }
        }
    }
}

/// In small letters, as it is, or all in capitals where each letter has one capital.
fn cased(word: &str, choice: u8) -> String {
    let capital = |letter: char| {
        Some(letter.to_uppercase()).filter(|it| it.len() == 1).and_then(|mut it| it.next()).unwrap_or(letter)
    };
    match choice % 3 {
        0 => word.to_owned(),
        1 => word.chars().map(capital).collect(),
        _ => {
            let mut letters = word.chars();
            letters.next().map(capital).into_iter().chain(letters).collect()
        }
    }
}

fn hand() -> impl Strategy<Value = Hand> {
    any::<Hand>()
}

/// Any texts, many of them near to each other.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        (meaning(), hand()).prop_map(|(meaning, hand)| write(&meaning, hand)),
        "[0-9a-fx., +-]{0,6}",
        "(on|off|low|high|not |mode |H|v)?[0-9]{0,2}[.,]?[0-9]{0,3} ?(x|s|min)?",
        any::<String>(),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// However the same is written, it is known to be the same: all of these ways are certain.
    #[test]
    fn one_meaning_in_two_hands_is_the_same(meaning in meaning(), a in hand(), b in hand()) {
        let (a, b) = (write(&meaning, a), write(&meaning, b));
        prop_assert!(compare_texts(&a, &b).is_same(), "{a:?} {b:?}: {:?}", compare_texts(&a, &b));
    }

    /// Nothing that differs is absolved, whoever writes it.
    #[test]
    fn two_meanings_are_never_the_same(one in meaning(), other in meaning(), a in hand(), b in hand()) {
        prop_assume!(one != other);
        let (a, b) = (write(&one, a), write(&other, b));
        prop_assert!(!compare_texts(&a, &b).is_same(), "{one:?} {a:?}, {other:?} {b:?}");
    }

    /// Numbers of one unit and hand that differ are different, unless one may be the other rounded or in another notation.
    #[test]
    fn two_numbers_of_one_unit_are_different(a in 0i32..5000, b in 0i32..5000, hand in hand()) {
        prop_assume!(a != b);
        let told = compare_texts(&write(&Meaning::Number(a * 100, Some("s")), hand), &write(&Meaning::Number(b * 100, Some("s")), hand));
        prop_assert_eq!(told, Sameness::Different);
    }

    #[test]
    fn the_comparison_is_symmetric_and_reflexive(a in text(), b in text()) {
        prop_assert_eq!(compare_texts(&a, &a), Sameness::Same);
        prop_assert_eq!(compare_texts(&a, &b), compare_texts(&b, &a));
        prop_assert_eq!(compare_identity_texts(&a, &a), Sameness::Same);
        prop_assert_eq!(compare_identity_texts(&a, &b), compare_identity_texts(&b, &a));
        let (a, b) = (Content::stated(None, &a), Content::stated(None, &b));
        prop_assert_eq!(a.compare(&b), b.compare(&a));
    }

    /// Same and said differently are one relation that goes on from one text to the next.
    #[test]
    fn what_is_the_same_as_the_same_is_the_same(meaning in meaning(), hands in prop::collection::vec(hand(), 3), more in prop::collection::vec(text(), 3)) {
        let mut texts: Vec<String> = hands.into_iter().map(|hand| write(&meaning, hand)).collect();
        texts.extend(more);
        for compare in [compare_texts, compare_identity_texts] {
            for a in &texts {
                for b in texts.iter().filter(|b| compare(a, b).is_same()) {
                    for c in texts.iter().filter(|c| compare(b, c).is_same()) {
                        prop_assert!(compare(a, c).is_same(), "{a:?} {b:?} {c:?}");
                    }
                }
            }
        }
    }

    /// A part number in another spacing and case is the same one; with another character it is not.
    #[test]
    fn part_numbers(parts in prop::collection::vec("[0-9A-HJKMNP-Z]{1,4}", 1..4), at in any::<prop::sample::Index>(), gap in 0usize..3) {
        let number = parts.join(" ");
        let other = parts.join(["", " ", "  "][gap]).to_lowercase();
        prop_assert!(compare_identity_texts(&number, &other).is_same(), "{number:?} {other:?}");
        let mut letters: Vec<char> = number.chars().collect();
        let at = at.index(letters.len());
        prop_assume!(letters[at] != ' ' && letters[at] != '0');
        letters[at] = if letters[at] == 'X' { 'Y' } else { 'X' };
        let changed: String = letters.into_iter().collect();
        prop_assert!(!compare_identity_texts(&number, &changed).is_same(), "{number:?} {changed:?}");
    }
}

/// Values that were seen to be accused although they are what they were. Each is read, and read again said differently.
#[test]
fn a_value_that_is_said_differently_is_nobodys_doing() {
    for (before, after) in [
        ("30,0 s", "30 s"),
        ("Off", "off"),
        ("0x00 0x1F", "00 1F"),
        ("0214", "214"),
        ("12 km/h", "12\u{a0}KM/H"),
        ("Tür offen", "Tu\u{308}r  offen"),
    ] {
        let mut journal = Journal::new([]);
        journal.read(reading().module("gateway").value("mode", before));
        journal.read(reading().module("gateway").value("mode", after));
        // The text that it came with stays, and no effect is filed.
        assert_eq!(journal.value("gateway.mode").as_deref(), Some(before));
        let Body::Reading(filed) = &journal.entries[2].body else { panic!("a reading") };
        assert!(filed.effects.stated.is_empty(), "{before} {after}: {:?}", filed.effects);
        assert_eq!(journal.life("gateway.mode").len(), 1, "{before} {after}");
    }
}

/// Work that is read again in another writing is read back.
#[test]
fn work_is_proven_by_a_reading_in_another_writing() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("gateway").value("mode", "20 s"));
    let change = journal.change(&[("gateway.mode", "30 s")]);
    let read = journal.read(reading().module("gateway").value("mode", "30,0 s"));
    assert_eq!(journal.proof("gateway.mode", change), Some(Proof::ReadBack(number(read))));
}

/// A definition takes any writing that can mean nothing else, and a reading in it moves nothing.
#[test]
fn a_definition_types_what_is_said_differently() {
    let mut journal = Journal::new([BODY_1]);
    let body = || reading().module("body").software("0100");
    journal.read(body().record("0D01", "43 01 99 44").record("0D02", "03 A0"));
    let fold = journal.value("body.fold").unwrap();
    journal.read(body().value("fold", &fold.to_uppercase()));
    assert_eq!(journal.value("body.fold"), Some(fold));
    let Body::Reading(filed) = &journal.entries[2].body else { panic!("a reading") };
    assert!(filed.effects.is_empty(), "{:?}", filed.effects);
}

#[test]
fn a_module_that_names_itself_differently_is_the_module_that_it_was() {
    let named = |part: &str, software: &str| reading().module("body").part_number(part).software(software);
    let mut journal = Journal::new([]);
    journal.read(named("7M0-951 A", "0214").record("0D01", "01").value("mode", "low"));
    journal.read(named("7m0-951a", "214").record("0D01", "01").value("mode", "low"));
    let known = journal.state().identity(&"body".parse().unwrap());
    assert_eq!((known.part_number.as_deref(), known.software.as_deref()), (Some("7M0-951 A"), Some("0214")));
    let Body::Reading(filed) = &journal.entries[2].body else { panic!("a reading") };
    assert!(filed.effects.is_empty(), "{:?}", filed.effects);

    // Another software is another software.
    journal.read(named("7M0-951 A", "0215").record("0D01", "01").value("mode", "high"));
    let life = journal.life("body.mode");
    assert_eq!(life.last().map(|step| step.1), Some(Origin::AnotherHand(HandKind::SoftwareUpdated)));
}

/// Journals from before hold effects in which an identity is only spelt otherwise: the state follows them to the letter, and nobody
/// is accused.
#[test]
fn an_older_journal_in_which_only_the_spelling_moved_accuses_nobody() {
    let identity = |software: &str| Identity { software: Some(software.to_owned()), ..Identity::default() };
    let mut journal = Journal::new([]);
    journal.read(reading().module("body").software("0214").value("mode", "low"));
    let mut body = journal.examine(&reading().module("body").value("mode", "high").reading, true).unwrap().body;
    let (found, left) = (identity("0214"), identity("214"));
    body.effects.identities.push(IdentityEffect { module: "body".parse().unwrap(), found, left });
    journal.file(Body::Reading(body));
    assert_eq!(journal.state().identity(&"body".parse().unwrap()), identity("214"));
    let life = journal.life("body.mode");
    assert_eq!(life.last().map(|step| step.1), Some(Origin::AnotherHand(HandKind::SettingsAltered)), "not an update");
}

/// What may be the same said differently is listed apart, as no difference.
#[test]
fn a_comparison_lists_apart_what_it_cannot_compare() {
    let state = |value: &str, part: &str| {
        let mut journal = Journal::new([]);
        journal.read(reading().module("body").part_number(part).value("mode", value).value("level", "3"));
        let mut state = journal.state();
        state.vehicle = None;
        (state, journal.definitions)
    };
    let ((found, definitions), (left, _)) = (state("5", "7M0-951"), state("5 x", "7M0951"));
    let compared = compare(&found, &left, &definitions, &definitions, &Movements::default());
    let module = &compared.modules[0];
    assert!(compared.is_same() && module.settings.is_empty());
    assert_eq!(module.settings_undecided.iter().map(|it| it.why).collect::<Vec<_>>(), [Incomparable::Unit]);
    assert_eq!(module.identity.iter().map(|it| it.doubt).collect::<Vec<_>>(), [Some(Incomparable::Letters)]);
}

#[test]
fn an_order_is_held_against_what_was_done_by_what_is_meant() {
    let group = |authorised: &str, done: &str| {
        let mut journal = Journal::new([]);
        journal.read(reading().module("gateway").value("mode", "20 s"));
        journal.file(Body::OrderOpened(OrderTerms {
            authorised: vec![AuthorisedItem::Setting { setting: path("gateway.mode"), left: authorised.to_owned() }],
            ..OrderTerms::new("7".parse().unwrap(), Reason::try_from("owner, at the desk".to_owned()).unwrap())
        }));
        journal.change(&[("gateway.mode", done)]);
        let order = orders(&journal.entries).pop().unwrap();
        let outcome = outcome(&order, &journal.entries, &journal.history(), &journal.definitions).unwrap();
        outcome.lines.iter().map(|line| line.verdict.group()).collect::<Vec<_>>()
    };
    assert_eq!(group("30,0 s", "30 s"), [LineGroup::Done]);
    assert_eq!(group("30", "30 s"), [LineGroup::CannotTell]);
    assert_eq!(group("31 s", "30 s"), [LineGroup::NotDone, LineGroup::WithoutAuthority]);
}

/// What may be the same said differently accuses nobody, contradicts nothing, and proves nothing.
#[test]
fn what_cannot_be_compared_is_nobodys_doing_either() {
    for (before, after) in [("5", "5 x"), ("active", "on"), ("1", "on"), ("12.5 V", "12.48 V"), ("0x1F", "31")] {
        let mut journal = Journal::new([]);
        journal.read(reading().module("gateway").value("mode", before));
        journal.read(reading().module("gateway").value("mode", after));
        let life = journal.life("gateway.mode");
        assert_eq!(life.last().map(|step| step.1), Some(Origin::CannotTell(Doubt::Comparison)), "{before} {after}");
    }
    let mut journal = Journal::new([]);
    journal.read(reading().module("gateway").value("mode", "3 x"));
    let change = journal.change(&[("gateway.mode", "5")]);
    journal.read(reading().module("gateway").value("mode", "5 x"));
    assert_eq!(journal.proof("gateway.mode", change), Some(Proof::Stated));
}
