//! Two states side by side: everything that differs is listed, and nothing else.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use std::collections::BTreeSet;

use asfound_core::difference::{
    ByteRun, CodeComparison, Comparison, ComparisonVerdict, ModuleComparison, RecordComparison, compare, same_layout,
};
use asfound_core::trouble_code::{CodeGroups, ReportedCode};
use asfound_core::value::BitMask;
use proptest::prelude::*;
use support::*;

fn found() -> Said {
    reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0")
}

fn state_of<'a>(definitions: impl IntoIterator<Item = &'a str>, said: Said) -> Journal {
    let mut journal = Journal::new(definitions);
    journal.read(said);
    journal
}

/// Compares two journals as those of two vehicles: of one vehicle, what was not read again would say nothing.
fn compared(a: &Journal, b: &Journal) -> Comparison {
    let mut left = b.state();
    left.vehicle.as_mut().expect("a journal starts with its vehicle").tag = "plover".parse().expect("a tag");
    compare(&a.state(), &left, &a.definitions, &b.definitions, b.history().movements())
}

fn only(comparison: &Comparison) -> &ModuleComparison {
    let [module] = &comparison.modules[..] else { panic!("{comparison:#?}") };
    module
}

fn record<'c>(comparison: &'c Comparison, name: &str) -> &'c RecordComparison {
    let records = comparison.modules.iter().flat_map(|module| &module.records);
    records.into_iter().find(|record| record.record.to_string() == name).expect("the record was compared")
}

/// Settings that differ, as found and as left.
fn settings(comparison: &Comparison) -> Vec<String> {
    let shown =
        |content: &Option<asfound_core::difference::Content>| content.as_ref().map_or("-".into(), ToString::to_string);
    comparison
        .modules
        .iter()
        .flat_map(|module| module.settings.iter().map(move |setting| (module, setting)))
        .map(|(module, it)| format!("{}.{} {} > {}", module.module, it.setting, shown(&it.found), shown(&it.left)))
        .collect()
}

#[test]
fn the_same_is_the_same_whatever_changes_by_itself() {
    let a = state_of([BODY_1], found());
    let b = state_of([BODY_1], found().record("0D01", "43 01 12 44"));
    let comparison = compared(&a, &b);
    assert!(comparison.is_same(), "{comparison:#?}");
    assert_eq!((comparison.count(ComparisonVerdict::Same), comparison.count(ComparisonVerdict::Changed)), (2, 0));
    let changed = record(&comparison, "0D01");
    assert_eq!((changed.compared, changed.volatile, changed.runs.len()), (3, 1, 0));
    assert_eq!(only(&comparison).settings_compared, 4);
}

#[test]
fn settings_bits_without_a_name_and_checksums_are_told_apart() {
    let a = state_of([BODY_1], found());
    let b = state_of([BODY_1], found().record("0D01", "55 01 98 56").record("0D02", "03 A1"));
    let comparison = compared(&a, &b);
    assert_eq!(settings(&comparison), ["body.flashes 3 > 5"]);
    let first = record(&comparison, "0D01");
    assert_eq!((first.verdict, first.undeclared.to_string().as_str()), (ComparisonVerdict::Changed, "byte 0 bit 4"));
    let second = record(&comparison, "0D02");
    assert_eq!((second.verdict, second.undeclared.to_string().as_str()), (ComparisonVerdict::Changed, "byte 1 bit 0"));
    assert!(!comparison.is_same());
}

/// A checksum that differs although all that it covers is the same is a difference that nobody can account for.
#[test]
fn a_checksum_that_differs_alone_is_a_difference() {
    let a = state_of([BODY_1], found());
    let b = state_of([BODY_1], found().record("0D01", "43 01 99 45"));
    let comparison = compared(&a, &b);
    assert_eq!(record(&comparison, "0D01").verdict, ComparisonVerdict::Changed);
    assert!(!comparison.is_same());
    assert_eq!(settings(&comparison), [] as [String; 0]);
    // Over a byte that changes by itself it follows that byte.
    let over = BODY_1.replace("over = \"0-1\"", "over = \"0-2\"");
    let a = state_of([&over[..]], found());
    let b = state_of([&over[..]], found().record("0D01", "43 01 9A 45"));
    assert!(compared(&a, &b).is_same());
}

#[test]
fn what_one_side_lacks_is_not_read_and_what_it_refused_is_refused() {
    let a = state_of([BODY_1, CLUSTER], found().module("cluster").value("volume", "3"));
    let b = state_of(
        [BODY_1, CLUSTER],
        reading()
            .module("body")
            .software("0100")
            .record("0D02", "03 A0")
            .refused("0D01")
            .module("brakes")
            .record("2A01", "00"),
    );
    let comparison = compared(&a, &b);
    assert_eq!(record(&comparison, "0D01").verdict, ComparisonVerdict::Refused);
    assert_eq!(record(&comparison, "0D02").verdict, ComparisonVerdict::Same);
    assert_eq!(record(&comparison, "2A01").verdict, ComparisonVerdict::NotRead);
    let names: Vec<&str> = comparison.modules.iter().map(|module| module.module.as_str()).collect();
    assert_eq!(names, ["body", "brakes", "cluster"]);
    let known: Vec<(bool, bool)> = comparison.modules.iter().map(|module| module.known).collect();
    assert_eq!(known, [(true, true), (false, true), (true, false)]);
    let not_read: Vec<Vec<String>> =
        comparison.modules.iter().map(|m| m.settings_not_read.iter().map(ToString::to_string).collect()).collect();
    assert_eq!(not_read, [vec!["fade", "flashes", "fold"], vec![], vec!["volume"]]);
    assert!(comparison.is_same(), "of what both know nothing differs");
}

/// After an update was seen, bytes read before it say nothing of what is there now.
#[test]
fn a_record_that_was_not_read_since_an_update_is_not_called_the_same() {
    let before = state_of([BODY_1, BODY_2], found());
    let mut after = before.clone();
    after.read(reading().module("body").software("0200").record("0D02", "03 A0"));
    let comparison = compared(&before, &after);
    assert_eq!(record(&comparison, "0D01").verdict, ComparisonVerdict::NotRead);
    let not_read: Vec<&str> = only(&comparison).settings_not_read.iter().map(|name| name.as_str()).collect();
    assert_eq!(not_read, ["fade", "flashes"]);
    assert_eq!(settings(&comparison), [] as [String; 0], "fold is off in both");
}

#[test]
fn an_update_is_compared_by_setting_and_an_inserted_byte_is_one_difference() {
    let before = state_of([BODY_1, BODY_2], found());
    let mut after = before.clone();
    after.read(reading().module("body").software("0200").record("0D01", "A0 43 00 99 E3").record("0D02", "03 A0"));
    let comparison = compared(&before, &after);
    assert_eq!(settings(&comparison), [] as [String; 0], "3, off, short and 15 km/h on both sides");
    let module = only(&comparison);
    assert_eq!(module.identity.len(), 1);
    assert_eq!((module.identity[0].what, module.identity[0].found.as_str()), ("software", "0100"));
    let layout_changed = record(&comparison, "0D01");
    assert!(
        layout_changed.layout_changed
            && layout_changed.verdict == ComparisonVerdict::Changed
            && layout_changed.undeclared.is_empty()
    );
    assert!(
        matches!(&layout_changed.runs[0], ByteRun::Different { at: 0, at_left: 0, found, left } if found.is_empty() && left == &hex("A0"))
    );
    assert!(matches!(&layout_changed.runs[1], ByteRun::Same { at: 0, at_left: 1, bytes } if bytes == &hex("43")));
    assert!(!comparison.is_same());
}

#[test]
fn records_that_two_definitions_lay_out_alike_are_compared_bit_by_bit() {
    let next = BODY_1.replace("test-body-1", "test-body-1-again").replace("below = \"0200\"", "from = \"0200\"");
    let moved = next.replace("bit = 3", "bit = 4");
    let (a, b, c) = (parsed(BODY_1), parsed(&next), parsed(&moved));
    let (first, second) = ("0D01".parse().unwrap(), "0D02".parse().unwrap());
    assert!(same_layout(&first, Some(&a), Some(&b)) && same_layout(&second, Some(&a), Some(&c)));
    assert!(!same_layout(&first, Some(&a), Some(&c)) && !same_layout(&first, Some(&a), None));
    assert!(same_layout(&first, None, None));
    let before = state_of([BODY_1, &next], found());
    let mut after = before.clone();
    after.read(reading().module("body").software("0200").record("0D01", "53 01 99 54").record("0D02", "03 A0"));
    let comparison = compared(&before, &after);
    assert_eq!(record(&comparison, "0D01").undeclared.to_string(), "byte 0 bit 4");
}

fn parsed(text: &str) -> asfound_core::definition::Definition {
    asfound_core::definition::Definition::parse(text).unwrap().definition
}

/// A value that was filed before there was a definition, and the same one read as bytes.
#[test]
fn a_value_without_definition_is_compared_by_what_it_means() {
    let untyped = state_of([], reading().module("body").software("0100").value("speed", "15").value("flashes", "4"));
    let typed = state_of([BODY_1], found());
    assert_eq!(settings(&compared(&untyped, &typed)), ["body.flashes 4 > 3"]);
    assert_eq!(settings(&compared(&typed, &untyped)), ["body.flashes 3 > 4"]);
}

#[test]
fn what_was_not_read_again_is_not_the_same_but_not_read() {
    let mut journal = state_of([BODY_1], found());
    let before = journal.state();
    journal.read(reading().module("body").record("0D02", "03 A0"));
    let (now, history) = (journal.state(), journal.history());
    let comparison = compare(&before, &now, &journal.definitions, &journal.definitions, history.movements());
    let verdict = |name: &str| (record(&comparison, name).verdict, record(&comparison, name).compared);
    assert_eq!(verdict("0D01"), (ComparisonVerdict::NotRead, 0), "its content was only carried over");
    assert_eq!(verdict("0D02"), (ComparisonVerdict::Same, 2), "it was read again");
    assert!(comparison.is_same());
}

#[test]
fn trouble_codes_are_compared_where_both_sides_were_scanned() {
    let code = |text: &str| ReportedCode::new(text.parse().unwrap(), None);
    let scanned = |codes: &[&str]| {
        let mut said = found();
        let module = said.reading.modules.values_mut().next().unwrap();
        module.trouble_codes = Some(codes.iter().map(|text| code(text)).collect());
        state_of([BODY_1], said)
    };
    let comparison = compared(&scanned(&["C0035-11", "U0100-00"]), &scanned(&["U0100-00", "B1234-56"]));
    let CodeComparison::Examined(CodeGroups { there_before, new, gone, .. }) = &only(&comparison).codes else {
        panic!()
    };
    assert_eq!((there_before, new, gone), (&vec![code("U0100-00")], &vec![code("B1234-56")], &vec![code("C0035-11")]));
    let comparison = compared(&state_of([BODY_1], found()), &scanned(&[]));
    assert_eq!(only(&comparison).codes, CodeComparison::NotExamined);
}

/// One record on two sides.
type Sides = (Vec<u8>, Vec<u8>);

/// A sheet, and two contents of every record under it; often most of it is the same.
fn two_sides(seed: u64) -> (Sheet, Vec<Sides>) {
    let dice = &mut Dice::new(seed);
    let names: Vec<String> = (0..6).map(|number| format!("s{number}")).collect();
    let sheet = Sheet::roll(dice, "sides", "alpha", "1", &names);
    let mut sides = Vec::new();
    for record in &sheet.records {
        let mut a: Vec<u8> = (0..record.length).map(|_| dice.byte()).collect();
        let mut b = a.clone();
        for byte in &mut b {
            if dice.one_in(3) {
                *byte ^= 1 << dice.below(8);
            }
        }
        record.set_checksum(&mut a);
        record.set_checksum(&mut b);
        sides.push((a, b));
    }
    (sheet, sides)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_difference_is_listed_and_nothing_else(seed in any::<u64>()) {
        let (sheet, sides) = two_sides(seed);
        let text = sheet.text();
        let read = |second: bool| {
            let mut said = reading().module("alpha").software("1");
            for (record, (a, b)) in sheet.records.iter().zip(&sides) {
                said = said.record(&record.name, &shown(if second { b } else { a }));
            }
            state_of([&text[..]], said)
        };
        let (a, b) = (read(false), read(true));
        let comparison = compared(&a, &b);
        let differing: BTreeSet<String> = sheet
            .settings
            .iter()
            .filter(|setting| setting.coded(&sides[setting.record].0) != setting.coded(&sides[setting.record].1))
            .map(|setting| setting.name.clone())
            .collect();
        let module = only(&comparison);
        let listed: BTreeSet<String> = module.settings.iter().map(|it| it.setting.to_string()).collect();
        prop_assert_eq!(&listed, &differing);
        prop_assert_eq!(module.settings_compared, sheet.settings.len());
        prop_assert!(module.settings_not_read.is_empty());
        for (number, (layout, (found, left))) in sheet.records.iter().zip(&sides).enumerate() {
            let it = record(&comparison, &layout.name);
            let unnamed = sheet.undeclared(number);
            let mask: Vec<u8> = (0..layout.length).map(|at| (found[at] ^ left[at]) & unnamed[at]).collect();
            prop_assert_eq!((0..layout.length).map(|at| it.undeclared.byte(at)).collect::<Vec<_>>(), mask.clone());
            let named = sheet.settings.iter().any(|setting| setting.record == number && differing.contains(&setting.name));
            let changed = named || mask.iter().any(|byte| *byte != 0);
            prop_assert_eq!(it.verdict == ComparisonVerdict::Changed, changed);
            prop_assert_eq!(it.verdict == ComparisonVerdict::Same, !changed);
            let volatile = usize::from(layout.volatile.is_some());
            prop_assert_eq!((it.volatile, it.compared), (volatile, layout.length - volatile));
            // What is listed, taken to the old content, gives the new one.
            let given = if changed { it.left.clone().unwrap() } else { found.clone().into() };
            for at in (0..layout.length).filter(|at| Some(*at) != layout.volatile) {
                prop_assert_eq!(given.as_slice()[at], left[at]);
            }
            prop_assert_eq!(it.runs.is_empty(), !changed);
        }
        prop_assert_eq!(comparison.is_same(), differing.is_empty() && comparison.count(ComparisonVerdict::Changed) == 0);
        // The other way round it is the mirror image.
        let mirrored = compared(&b, &a);
        for (one, other) in comparison.modules.iter().zip(&mirrored.modules) {
            for (one, other) in one.settings.iter().zip(&other.settings) {
                prop_assert_eq!((&one.found, &one.left), (&other.left, &other.found));
            }
            for (one, other) in one.records.iter().zip(&other.records) {
                prop_assert_eq!((one.verdict, &one.undeclared), (other.verdict, &other.undeclared));
            }
        }
        prop_assert!(compared(&a, &a).is_same());
    }

    /// One byte put in anywhere, as by an update, shows as one byte.
    #[test]
    fn an_inserted_byte_is_one_byte(bytes in prop::collection::vec(any::<u8>(), 1..24), at in any::<prop::sample::Index>(), byte: u8) {
        let mut longer = bytes.clone();
        longer.insert(at.index(bytes.len() + 1), byte);
        for (found, left) in [(&bytes, &longer), (&longer, &bytes)] {
            let runs = asfound_core::difference::align(found, left);
            let lengths = runs.iter().map(|run| match run {
                ByteRun::Different { found, left, .. } => found.len() + left.len(),
                ByteRun::Same { .. } => 0,
            });
            prop_assert_eq!(lengths.sum::<usize>(), 1);
        }
        prop_assert!(BitMask::differing(&bytes, &longer).count() >= 8);
    }
}
