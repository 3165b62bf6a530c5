//! Readings are held against what is known before they are filed.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::{Body, ModuleCoverage, ReadingBody};
use asfound_core::examination::{MissingItem, ReadingProblem, ReadingRemark};
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::reading::{Reading, VehicleMark};
use asfound_core::state::TimingRemark;
use support::*;
use time::{Duration, OffsetDateTime};

fn found() -> Said {
    reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0")
}

fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, BODY_2, CLUSTER]);
    journal.read(found().module("cluster").value("volume", "3").module("gateway").value("light_level", "1"));
    journal
}

fn filed(journal: &Journal, said: &Said) -> (ReadingBody, Vec<ReadingRemark>) {
    let examined = journal.examine(&said.reading, true).unwrap_or_else(|problems| panic!("{problems:#?}"));
    (examined.body, examined.remarks)
}

fn problems(journal: &Journal, said: &Said) -> Vec<ReadingProblem> {
    journal.examine(&said.reading, true).map(|examined| panic!("{examined:?}")).unwrap_err()
}

fn module(name: &str) -> ModuleName {
    name.parse().expect("names in tests are well formed")
}

fn record(name: &str) -> RecordName {
    name.parse().expect("names in tests are well formed")
}

/// What the reading says has become different, in a line each.
fn effects(body: &ReadingBody) -> Vec<String> {
    let text = |found: Option<String>| found.unwrap_or_else(|| "-".to_owned());
    let records = body.effects.records.iter().map(|effect| {
        format!(
            "{}:{} {} > {}",
            effect.module,
            effect.record,
            text(effect.found.as_ref().map(ToString::to_string)),
            effect.left
        )
    });
    let stated = body.effects.stated.iter().map(|effect| {
        format!("{}.{} {} > {}", effect.module, effect.setting, text(effect.found.clone()), text(effect.left.clone()))
    });
    records.chain(stated).collect()
}

#[test]
fn the_same_again_has_no_effect_and_covers_all() {
    let journal = journal();
    let all = found().module("cluster").value("volume", "3").module("gateway").value("light_level", "1");
    let examined = journal.examine(&all.reading, false).unwrap();
    assert!(examined.body.effects.is_empty(), "{examined:?}");
    assert_eq!(examined.missing, []);
    assert!(!examined.body.partial);
    let covered: &ModuleCoverage = &examined.body.covered[&module("body")];
    assert_eq!(covered.records, [record("0D01"), record("0D02")].into());
    assert_eq!(examined.remarks, [ReadingRemark::NoDefinition(module("gateway"))]);
}

#[test]
fn what_earlier_readings_had_is_missed_unless_the_reading_is_partial() {
    let journal = journal();
    let missing = |said: &Said| {
        let partial = journal.examine(&said.reading, true).unwrap();
        let whole = journal.examine(&said.reading, false);
        if partial.missing.is_empty() {
            assert!(whole.is_ok());
        } else {
            assert_eq!(whole, Err(vec![ReadingProblem::Incomplete(partial.missing.clone())]));
        }
        partial.missing
    };
    let others = |said: Said| said.module("cluster").value("volume", "3").module("gateway").value("light_level", "1");
    assert_eq!(missing(&found()), [MissingItem::Module(module("cluster")), MissingItem::Module(module("gateway"))]);
    assert_eq!(
        missing(&others(reading().module("body").record("0D02", "03 A0"))),
        [MissingItem::Record(module("body"), record("0D01"))]
    );
    // Refused is an answer, and so is a record that holds what was known by value.
    assert_eq!(missing(&others(reading().module("body").record("0D02", "03 A0").refused("0D01"))), []);
    let by_bytes = found().module("cluster").record("3B01", "30").module("gateway").value("light_level", "1");
    assert_eq!(missing(&by_bytes), []);
    // A reading by value of what was read by bytes lacks the bytes.
    assert_eq!(
        missing(&others(reading().module("body").record("0D02", "03 A0").value("flashes", "3"))),
        [MissingItem::Record(module("body"), record("0D01"))]
    );
    let by_others = found().module("cluster").record("3B02", "00").module("gateway").value("other", "1");
    assert_eq!(
        missing(&by_others),
        [
            MissingItem::Setting(module("cluster"), "volume".parse().unwrap()),
            MissingItem::Setting(module("gateway"), "light_level".parse().unwrap())
        ]
    );
}

/// What only work made known was never read, so nobody can miss it in a reading.
#[test]
fn what_was_never_read_is_not_missed() {
    let mut journal = Journal::new([CLUSTER]);
    let mut targets = journal.targets(&[("cluster.volume", "4")]);
    targets.allow_one_way();
    journal.work(&targets).unwrap();
    assert!(journal.examine(&reading().module("body").record("0D01", "00").reading, false).is_ok());
}

#[test]
fn a_value_moves_only_its_own_bits_of_a_record_that_is_known() {
    let journal = journal();
    let (body, _) = filed(&journal, &reading().module("body").value("flashes", "5"));
    assert_eq!(effects(&body), ["body:0D01 43 01 99 44 > 45 01 99 46"]);
    assert!(body.covered[&module("body")].records.is_empty(), "the record was not read");
    // Two settings in one record, one of them as it was.
    let (body, _) = filed(&journal, &reading().module("body").value("fold", "on").value("flashes", "3"));
    assert_eq!(effects(&body), ["body:0D01 43 01 99 44 > 4B 01 99 4C"]);
    let (body, _) = filed(&journal, &reading().module("body").value("fold", "on").value("fade", "slow"));
    assert_eq!(effects(&body), ["body:0D01 43 01 99 44 > 4B 06 99 51"]);
    // What reads like that already stays as it is, also where several coded values read so and the checksum is wrong.
    let mut journal = journal;
    journal.read(reading().module("body").record("0D01", "43 05 99 00"));
    let (body, _) = filed(&journal, &reading().module("body").value("fade", "long"));
    assert_eq!(effects(&body), [] as [String; 0]);
}

#[test]
fn a_value_whose_record_is_unknown_is_kept_as_it_was_said() {
    let mut journal = journal();
    let said = reading().module("cluster").value("volume", "4").value("chime", "on").value("unheard_of", "7");
    let (body, _) = filed(&journal, &said);
    assert_eq!(effects(&body), ["cluster.chime - > on", "cluster.unheard_of - > 7", "cluster.volume 3 > 4"]);
    journal.file(Body::Reading(body));
    // Bytes take over from the values that they hold, and from no other.
    let (body, _) = filed(&journal, &reading().module("cluster").record("3B01", "41"));
    assert_eq!(effects(&body), ["cluster:3B01 - > 41", "cluster.chime on > -", "cluster.volume 4 > -"]);
    journal.file(Body::Reading(body));
    assert_eq!(journal.value("cluster.volume").unwrap(), "4");
    assert_eq!(journal.value("cluster.unheard_of").unwrap(), "7");
}

#[test]
fn bytes_and_value_must_agree() {
    let journal = journal();
    let agree = found().value("flashes", "3").value("fade", "short");
    assert_eq!(effects(&filed(&journal, &agree).0), [] as [String; 0]);
    let (body, _) = filed(&journal, &reading().module("body").record("0D01", "45 03 00 48").value("fade", "long"));
    assert_eq!(effects(&body), ["body:0D01 43 01 99 44 > 45 03 00 48"]);
    let contradicting = found().value("flashes", "4").value("fold", "off");
    let found = problems(&journal, &contradicting);
    let [ReadingProblem::Contradiction { value, byte: 0, by_bytes, .. }] = &found[..] else { panic!("{found:?}") };
    assert_eq!((value.as_str(), by_bytes.as_str()), ("4", "3"));
    assert!(found[0].to_string().contains("body.flashes") && found[0].hint().is_some());
    // Bits without meaning agree with no value.
    let nothing = reading().module("body").record("0D01", "43 0F 00 52").value("fade", "slow");
    assert!(matches!(&problems(&journal, &nothing)[..], [ReadingProblem::Contradiction { .. }]));
}

#[test]
fn everything_that_is_wrong_is_said_at_once() {
    let journal = journal();
    let said = reading()
        .module("body")
        .software("0100")
        .record("0D01", "43 01 99")
        .record("0D02", "03 A0")
        .refused("0D02")
        .record("0D03", "")
        .value("flashes", "many")
        .module("cluster")
        .value("chime", "maybe");
    let found = problems(&journal, &said);
    assert!(
        matches!(
            &found[..],
            [
                ReadingProblem::Length { found: 3, expected: 4, .. },
                ReadingProblem::GivenAndRefused { .. },
                ReadingProblem::NoBytes { .. },
                ReadingProblem::Value { .. },
                ReadingProblem::Value { .. },
            ]
        ),
        "{found:#?}"
    );
    assert_eq!(problems(&journal, &reading()), [ReadingProblem::Empty]);
    // A value that its bits cannot hold cannot be put among known bytes.
    let found = problems(&journal, &reading().module("body").value("flashes", "8"));
    assert!(matches!(&found[..], [ReadingProblem::Value { .. }]), "{found:?}");
}

#[test]
fn a_reading_of_another_vehicle_is_refused() {
    let journal = journal();
    let from = |mark: VehicleMark| {
        let reading = Reading { vehicle: Some(mark), ..found().reading };
        journal.examine(&reading, true).map(|_| ()).map_err(|problems| problems.len())
    };
    assert_eq!(from(VehicleMark::Tag("wren".parse().unwrap())), Ok(()));
    assert_eq!(from(VehicleMark::Tag("plover".parse().unwrap())), Err(1));
    // 1M8GDM9AXKP042788 is a published example of a VIN with a right check digit.
    assert_eq!(from(VehicleMark::Vin("1M8GDM9AXKP042788".parse().unwrap())), Err(1));
}

#[test]
fn two_definitions_that_fit_are_no_guide() {
    let mut journal = journal();
    journal.define(&CLUSTER.replace("test-cluster", "test-cluster-again"));
    let examined = journal.examine(&reading().module("cluster").record("3B01", "41").reading, true).unwrap();
    assert!(matches!(&examined.remarks[..], [ReadingRemark::SeveralDefinitions(_)]), "{:?}", examined.remarks);
    // The bytes are kept all the same.
    assert_eq!(examined.body.effects.records.len(), 1);
}

#[test]
fn remarks_tell_what_is_odd_and_keep_nothing_from_being_filed() {
    let journal = journal();
    let (_, remarks) = filed(&journal, &reading().module("body").record("0D01", "40 0F 99 00"));
    assert_eq!(remarks.len(), 3, "{remarks:?}");
    assert_eq!(remarks[0], ReadingRemark::Checksum(module("body"), record("0D01")));
    assert!(matches!(&remarks[1], ReadingRemark::NoMeaning(_, setting, _) if setting.as_str() == "fade"));
    assert!(
        matches!(&remarks[2], ReadingRemark::NotPermitted(_, setting, value) if setting.as_str() == "flashes" && value == "0")
    );
    let (_, remarks) = filed(&journal, &reading().module("body").value("flashes", "0"));
    assert!(matches!(&remarks[..], [ReadingRemark::NotPermitted(..)]), "{remarks:?}");

    let mut journal = journal;
    journal.read(found().kilometres(5000));
    let before = Reading {
        taken: Some((OffsetDateTime::UNIX_EPOCH + Duration::days(1)).into()),
        supply_voltage: Some("11.9".parse().unwrap()),
        ..found().kilometres(5001).reading
    };
    let remarks = journal.examine(&before, true).unwrap().remarks;
    assert!(
        matches!(
            &remarks[..],
            [
                ReadingRemark::Timing(TimingRemark::Earlier(entry, _)),
                ReadingRemark::OdometerBack { now: 5001, before: 5000, .. },
                ReadingRemark::LowVoltage
            ] if *entry == number(3)
        ),
        "{remarks:?}"
    );
    let fine = Reading { supply_voltage: Some("12".parse().unwrap()), ..found().kilometres(5000).reading };
    assert_eq!(journal.examine(&fine, true).unwrap().remarks, []);
}

/// The record was read under the old software: a value of the new one has no place in its bytes.
#[test]
fn a_value_read_after_an_update_is_not_put_into_bytes_from_before() {
    let mut journal = journal();
    // The reading that shows the new software gives a value as well.
    let said = reading().module("body").software("0200").value("flashes", "5").record("0D02", "03 A0");
    let (body, _) = filed(&journal, &said);
    assert_eq!(effects(&body), ["body.flashes - > 5"]);
    journal.file(Body::Reading(body));
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 99 44");
    assert_eq!(journal.value("body.flashes").unwrap(), "5");
    // Another one gives a value later.
    let (body, _) = filed(&journal, &reading().module("body").value("flashes", "6"));
    assert_eq!(effects(&body), ["body.flashes 5 > 6"]);
    journal.file(Body::Reading(body));
    assert_eq!(journal.change(&[("body.flashes", "7")]), 5);
    // The bytes take over when they are read.
    let (body, _) = filed(&journal, &reading().module("body").record("0D01", "A0 07 01 00 A8"));
    assert_eq!(effects(&body), ["body:0D01 43 01 99 44 > A0 07 01 00 A8", "body.flashes 7 > -"]);
    journal.file(Body::Reading(body));
    let values: Vec<String> = journal.life("body.flashes").into_iter().map(|step| step.3).collect();
    assert_eq!(values, ["3", "5", "6", "7"]);
}

/// A definition explains what was read before the module's identity was known, if nothing contradicts it.
#[test]
fn an_identity_that_becomes_known_explains_what_was_read_before() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(reading().module("body").record("0D01", "43 01 99 44").value("speed", "15"));
    assert_eq!(journal.value("body.flashes"), None);
    journal.read(reading().module("body").software("0100").record("0D01", "45 01 98 46"));
    let steps: Vec<(u32, Option<String>, String)> =
        journal.life("body.flashes").into_iter().map(|(entry, _, found, left)| (entry, found, left)).collect();
    assert_eq!(
        steps,
        [(3, Some("3".to_owned()), "5".to_owned())],
        "another hand, told by bytes that were there all along"
    );
    assert_eq!(journal.life("body.fold").len(), 1);
    assert_eq!(journal.life("body.speed").len(), 1, "15 and 15 km/h are one value");
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "43 01 98 44");
}

/// An older journal holds a block named `f190`, which was typed in small letters. It goes on under that name, however it is typed now.
#[test]
fn a_block_of_an_older_journal_goes_on_under_its_name() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("gateway").record("f190", "01"));
    journal.read(reading().module("gateway").record("F190", "02"));
    let known = &journal.state().modules[&"gateway".parse::<ModuleName>().unwrap()].records;
    assert_eq!(known.keys().map(ToString::to_string).collect::<Vec<_>>(), ["f190"]);
    assert_eq!(journal.bytes("gateway", "f190").as_deref(), Some("02"));
    // Where the journal knows the identifier, it is the identifier.
    let mut journal = Journal::new([]);
    journal.read(reading().module("gateway").record("F190", "01"));
    journal.read(reading().module("gateway").record("F190", "02"));
    assert_eq!(journal.bytes("gateway", "F190").as_deref(), Some("02"));
}
