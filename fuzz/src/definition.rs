//! Definition files.

use asfound_core::definition::{Definition, DefinitionSet, RecordDefinition, check_together, compare_versions};
use asfound_core::identity::{Identity};
use asfound_core::names::SettingPath;
use asfound_core::value::{BitMask, Value};

use crate::{messages, settings, text_and_bytes};

/// A definition file, and behind a zero byte what a record holds. Whatever parses is used: every setting is decoded and
/// encoded, every checksum set, every rule evaluated.
pub fn definition(data: &[u8]) {
    let Some((text, bytes)) = text_and_bytes(data) else { return };
    let parsed = match Definition::parse(text) {
        Ok(parsed) => parsed,
        Err(problems) => {
            assert!(problems.has_errors(), "refused without an error");
            messages::problems(&problems);
            return;
        }
    };
    assert!(!parsed.warnings.has_errors(), "accepted with an error");
    messages::problems(&parsed.warnings);
    let definition = parsed.definition;
    assert_eq!(definition.text(), text);
    let typed = String::from_utf8_lossy(bytes);

    for record in definition.records().values() {
        record_in(&definition, record, &content(bytes, record.length()), &typed);
    }
    rules(&definition, bytes);
    fits(&definition, &typed);
    for problem in check_together(std::slice::from_ref(&definition)) {
        messages::harmless(&problem.problem);
    }
    let mut set = DefinitionSet::new();
    set.add(definition.clone()).expect("the set is empty");
    set.add(definition).expect_err("its name is taken");
}

/// As many bytes as a record has.
fn content(bytes: &[u8], length: usize) -> Vec<u8> {
    if bytes.is_empty() { vec![0; length] } else { bytes.iter().copied().cycle().take(length).collect() }
}

fn record_in(definition: &Definition, record: &RecordDefinition, content: &[u8], typed: &str) {
    // Every bit is exactly one of named, volatile, checksum, undeclared; no setting shares a bit.
    let length = record.length();
    let mut seen = BitMask::none(length);
    let mut once = |mask: &BitMask| {
        assert!(!seen.overlaps(mask), "bits of record {} are told twice", record.name());
        seen.add(mask);
    };
    let settings: Vec<_> = definition.settings_in(record.name()).collect();
    assert_eq!(settings.len(), record.settings().len());
    settings.iter().for_each(|setting| once(&setting.layout().mask(length)));
    once(&record.undeclared());
    if let Some(checksum) = record.checksum() {
        once(&checksum.mask(length));
        // A checksum may be among the bytes that are said to be volatile.
        let mut volatile = record.volatile().clone();
        volatile.remove(&checksum.mask(length));
        once(&volatile);
    } else {
        once(record.volatile());
    }
    assert_eq!(seen, BitMask::all(length), "bits of record {} are told nowhere", record.name());

    for setting in settings {
        settings::exercise(setting, content, typed);
    }
    let Some(checksum) = record.checksum() else { return };
    let mut sealed = content.to_vec();
    checksum.set(&mut sealed).expect("the record has its length");
    assert_eq!(checksum.holds(&sealed), Ok(true));
    settings::touched_only(&checksum.mask(length), content, &sealed);
    // Sums, exclusive or and any cyclic redundancy check find a single flipped bit.
    for at in checksum.over().iter().flat_map(Clone::clone).take(64) {
        let mut flipped = sealed.clone();
        flipped[at] ^= 1 << (at % 8);
        assert_eq!(checksum.holds(&flipped), Ok(false), "a flipped bit in byte {at} goes unseen");
    }
}

fn rules(definition: &Definition, bytes: &[u8]) {
    let lookup = |path: &SettingPath| -> Option<Value> {
        let setting = definition.setting(&path.setting).filter(|_| path.module == *definition.module())?;
        let record = definition.record(setting.record())?;
        setting.layout().decode(&content(bytes, record.length())).ok()
    };
    for rule in definition.rules() {
        assert!(rule.conditions().count() > 0, "the rule {} asks nothing", rule.name());
        rule.evaluate(lookup);
        rule.evaluate(|_| None);
        for condition in rule.conditions() {
            assert!(!condition.to_string().is_empty());
        }
    }
}

fn fits(definition: &Definition, typed: &str) {
    let applies_to = definition.applies_to();
    let says = || Some(typed.to_owned());
    let identity = Identity { part_number: says(), hardware: says(), software: says(), serial: says() };
    applies_to.fits(definition.module(), &identity);
    let unconditional =
        applies_to.part_number().is_empty() && applies_to.hardware().is_empty() && applies_to.software().is_none();
    assert_eq!(applies_to.fits(definition.module(), &Identity::default()), unconditional);
    for pattern in applies_to.part_number().iter().chain(applies_to.hardware()) {
        pattern.fits(typed);
    }
    if let Some(software) = applies_to.software() {
        for bound in [software.from(), software.below(), software.up_to()].into_iter().flatten() {
            assert_eq!(compare_versions(bound, typed), compare_versions(typed, bound).reverse());
        }
        if let Some(from) = software.from() {
            assert!(software.contains(from) || software.below().is_some() || software.up_to().is_some());
        }
    }
}
