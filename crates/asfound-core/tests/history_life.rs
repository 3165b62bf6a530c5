//! The life of a field: its transitions, where they come from, and that they follow from each other.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::{Body, Effects, IdentityEffect, ReadingBody, ReadingRole, RecordEffect};
use asfound_core::history::{Doubt, Field, HandKind, Origin};
use asfound_core::names::EntryNumber;
use asfound_core::situation::Situation;
use asfound_core::state::{InvalidEffect, State};
use asfound_core::value::BitMask;
use support::*;

fn body_read(journal: &mut Journal) -> u32 {
    // flashes 3, fold off, fade short; 4B + 01 = 4C.
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0"))
}

#[test]
fn a_reading_makes_known_work_alters_and_another_hand_alters() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    assert_eq!(journal.change(&[("body.flashes", "5")]), 3);
    assert_eq!(journal.bytes("body", "0D01").unwrap(), "45 01 99 46");
    journal.read(reading().module("body").record("0D01", "45 01 12 46"));
    journal.read(reading().module("body").record("0D01", "4D 01 13 4E"));
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3"), step(3, Origin::Work, "3", "5")]);
    assert_eq!(
        journal.life("body.fold"),
        [step(2, Origin::FirstKnown, "?", "off"), step(5, Origin::AnotherHand(HandKind::SettingsAltered), "off", "on")]
    );
    // The volatile byte and the checksum are nobody's doing.
    assert_eq!(journal.undeclared("body"), []);
}

#[test]
fn undeclared_bits_that_entries_alter_together_are_one_field_and_overlapping_groups_are_joined() {
    let mut journal = Journal::new([BODY_1]);
    journal.read(reading().module("body").software("0100").record("0D01", "03 01 00 04").record("0D02", "03 00"));
    assert_eq!(journal.change_record("body", "0D01", "33 01 00 04"), 3);
    assert_eq!(journal.change_record("body", "0D02", "03 0F"), 4);
    assert_eq!(journal.change_record("body", "0D01", "63 01 00 04"), 5);
    assert_eq!(journal.change_record("body", "0D01", "63 81 00 04"), 6);
    let fields = journal.undeclared("body");
    let masks: Vec<&str> = fields.iter().map(|(mask, _)| mask.as_str()).collect();
    assert_eq!(masks, ["byte 1 bit 7", "byte 0 bits 4-6", "byte 1 bits 0-3"]);
    assert_eq!(
        fields[1].1,
        [step(3, Origin::Work, "03 01 00 04", "33 01 00 34"), step(5, Origin::Work, "33 01 00 34", "63 01 00 64")],
        "the record's real bytes"
    );
}

#[test]
fn another_unit_and_other_software_are_told_from_altered_settings() {
    let read = |journal: &mut Journal, part: &str, serial: &str, software: &str, bytes: &str| {
        journal
            .read(reading().module("brakes").part_number(part).serial(serial).software(software).record("2A02", bytes))
    };
    let mut journal = Journal::new([BRAKES]);
    read(&mut journal, "P1", "S1", "1", "01");
    read(&mut journal, "P1", "S1", "1", "02");
    read(&mut journal, "P1", "S1", "2", "03");
    read(&mut journal, "P1", "S2", "2", "04");
    read(&mut journal, "P2", "S2", "3", "05");
    let hand = |entry, kind, found, left| step(entry, Origin::AnotherHand(kind), found, left);
    assert_eq!(
        journal.life("brakes.lamp_test"),
        [
            step(2, Origin::FirstKnown, "?", "1"),
            hand(3, HandKind::SettingsAltered, "1", "2"),
            hand(4, HandKind::SoftwareUpdated, "2", "3"),
            hand(5, HandKind::UnitSwapped, "3", "4"),
            hand(6, HandKind::UnitSwapped, "4", "5"),
        ]
    );
}

/// A partial reading shows the new software before anybody reads the records again: what lies in between is the update.
#[test]
fn an_update_is_told_also_where_the_identity_was_read_before_the_record() {
    let mut journal = Journal::new([BRAKES]);
    journal.read(reading().module("brakes").software("1").record("2A01", "00 50").record("2A02", "01"));
    journal.read(reading().module("brakes").software("2").record("2A02", "02"));
    journal.read(reading().module("brakes").software("2").record("2A01", "01 70"));
    let updated = Origin::AnotherHand(HandKind::SoftwareUpdated);
    assert_eq!(
        journal.life("brakes.hill_hold"),
        [step(2, Origin::FirstKnown, "?", "off"), step(4, updated, "off", "on")]
    );
    let unclear = Origin::CannotTell(Doubt::SettingOrMeasured);
    assert_eq!(journal.undeclared("brakes"), [("byte 1 bit 5".to_owned(), vec![step(4, unclear, "00 50", "01 70")])]);
}

/// Bytes that were read under the old software mean nothing under the new definition until they are read again.
#[test]
fn an_update_does_not_give_old_bytes_a_new_meaning() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(reading().module("body").software("0100").record("0D01", "4B 01 99 4C").record("0D02", "03 A1"));
    journal.read(reading().module("body").software("0200").record("0D02", "03 A0"));
    assert_eq!(journal.value("body.flashes").unwrap(), "3", "last known");
    assert_eq!(journal.life("body.flashes").len(), 1);
    assert_eq!(journal.value("body.fade").unwrap(), "short");
    // `fold` has moved to record 0D02, which was read.
    let updated = Origin::AnotherHand(HandKind::SoftwareUpdated);
    assert_eq!(journal.life("body.fold"), [step(2, Origin::FirstKnown, "?", "on"), step(3, updated, "on", "off")]);
    // Read again, at last.
    journal.read(reading().module("body").record("0D01", "00 05 01 99 06"));
    assert_eq!(journal.life("body.flashes"), [step(2, Origin::FirstKnown, "?", "3"), step(4, updated, "3", "5")]);
    assert_eq!(
        journal.life("body.fade"),
        [step(2, Origin::FirstKnown, "?", "short"), step(4, updated, "short", "long")]
    );
}

/// The bytes are the same after the update, so that the reading has no effect, and yet they mean something else.
#[test]
fn the_same_bytes_under_other_software_may_be_another_value() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(reading().module("body").software("0100").record("0D01", "4B 01 99 4C").record("0D02", "03 A1"));
    journal.read(reading().module("body").software("0200").value("speed", "15"));
    journal.read(reading().module("body").record("0D02", "03 A1"));
    let updated = Origin::AnotherHand(HandKind::SoftwareUpdated);
    assert_eq!(journal.life("body.fold"), [step(2, Origin::FirstKnown, "?", "on")], "on before, on now");
    journal.read(reading().module("body").record("0D02", "03 A0"));
    assert_eq!(journal.life("body.fold")[1..], [step(5, Origin::AnotherHand(HandKind::SettingsAltered), "on", "off")]);

    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(reading().module("body").software("0100").record("0D01", "4B 01 99 4C").record("0D02", "03 A0"));
    journal.read(reading().module("body").software("0200").value("speed", "15"));
    journal.read(reading().module("body").record("0D02", "03 A0"));
    assert_eq!(journal.life("body.fold")[1..], [step(4, updated, "on", "off")]);
}

/// A setting that an update took away and another one gave back goes on where it was.
#[test]
fn a_setting_that_was_away_goes_on_where_it_was() {
    let without = BODY_2.replace("[settings.fold]", "[settings.fold_anew]");
    let mut journal = Journal::new([BODY_1, &without]);
    let first = "43 01 99 44";
    journal.read(reading().module("body").software("0100").record("0D01", first).record("0D02", "03 A1"));
    journal.read(reading().module("body").software("0200").record("0D01", "00 03 00 99 03").record("0D02", "03 A1"));
    journal.read(reading().module("body").software("0100").record("0D01", "4B 01 99 4C").record("0D02", "03 A1"));
    let updated = Origin::AnotherHand(HandKind::SoftwareUpdated);
    assert_eq!(journal.life("body.fold"), [step(2, Origin::FirstKnown, "?", "off"), step(4, updated, "off", "on")]);
}

/// Bits that a group had before an update and after it are not one group.
#[test]
fn groups_of_undeclared_bits_do_not_reach_over_a_new_layout() {
    let mut journal = Journal::new([BODY_1, BODY_2]);
    journal.read(reading().module("body").software("0100").record("0D01", "03 01 00 04").record("0D02", "03 00"));
    journal.change_record("body", "0D01", "33 01 00 04");
    journal.read(reading().module("body").software("0200").record("0D01", "00 03 01 00 04").record("0D02", "03 00"));
    journal.change_record("body", "0D01", "60 03 01 00 64");
    let masks: Vec<String> = journal.undeclared("body").into_iter().map(|(mask, _)| mask).collect();
    assert_eq!(masks, ["byte 0 bits 4-5", "byte 0 bits 5-6"]);
}

#[test]
fn values_known_by_name_alone_have_a_life_too() {
    let mut journal = Journal::new([CLUSTER]);
    journal.read(reading().module("cluster").value("volume", "3").module("gateway").value("light_level", "1"));
    journal.change(&[("cluster.volume", "4"), ("gateway.light_level", "2")]);
    journal.read(reading().module("cluster").record("3B01", "51"));
    assert_eq!(
        journal.life("cluster.volume"),
        [
            step(2, Origin::FirstKnown, "?", "3"),
            step(3, Origin::Work, "3", "4"),
            step(4, Origin::Contradicts(number(3)), "4", "5"),
        ]
    );
    assert_eq!(
        journal.life("gateway.light_level"),
        [step(2, Origin::FirstKnown, "?", "1"), step(3, Origin::Work, "1", "2")]
    );
    assert_eq!(journal.life("cluster.chime"), [step(4, Origin::FirstKnown, "?", "on")]);
}

/// A value that was filed before its definition was there is compared by what it means and kept as it was written.
#[test]
fn a_value_filed_without_definition_can_be_changed_once_there_is_one() {
    let mut journal = Journal::new([]);
    journal.read(reading().module("body").software("0100").value("speed", "15").value("fold", "off"));
    journal.define(BODY_1);
    assert_eq!(journal.value("body.speed").unwrap(), "15 km/h");
    journal.change(&[("body.speed", "20")]);
    assert_eq!(journal.life("body.speed")[1..], [step(3, Origin::Work, "15 km/h", "20 km/h")]);
    journal.put_back(&[3]).unwrap();
    assert_eq!(journal.value("body.speed").unwrap(), "15 km/h");
}

fn filed(records: Vec<RecordEffect>, identities: Vec<IdentityEffect>) -> Body {
    Body::Reading(ReadingBody {
        role: ReadingRole::Check,
        partial: true,
        by: None,
        tool: None,
        odometer_km: None,
        supply_voltage: None,
        situation: Situation::default(),
        covered: std::collections::BTreeMap::new(),
        effects: Effects { identities, records, stated: Vec::new() },
        late: std::collections::BTreeMap::new(),
    })
}

#[test]
fn an_entry_that_does_not_follow_is_found() {
    let mut journal = Journal::new([BODY_1]);
    body_read(&mut journal);
    let effect = |record: &str, found: Option<&str>, left: &str| RecordEffect {
        module: "body".parse().unwrap(),
        record: record.parse().unwrap(),
        found: found.map(hex),
        left: hex(left),
    };
    for (records, what) in [
        (vec![effect("0D01", Some("43 01 98 44"), "43 01 99 44")], "other bytes as found"),
        (vec![effect("0D01", None, "43 01 99 45")], "known, and said not to be"),
        (vec![effect("0D03", Some("00"), "01")], "a reading finds nothing where nothing was known"),
        (
            vec![
                effect("0D01", Some("43 01 99 44"), "44 01 99 45"),
                effect("0D01", Some("43 01 99 44"), "45 01 99 46"),
            ],
            "twice",
        ),
    ] {
        let mut damaged = journal.clone();
        damaged.file(filed(records, Vec::new()));
        assert!(matches!(State::fold(&damaged.entries), Err(InvalidEffect::Found { .. })), "{what}");
    }
    let mut damaged = journal.clone();
    damaged.file(filed(
        Vec::new(),
        vec![IdentityEffect {
            module: "body".parse().unwrap(),
            found: asfound_core::identity::Identity::default(),
            left: asfound_core::identity::Identity::default(),
        }],
    ));
    assert!(matches!(State::fold(&damaged.entries), Err(InvalidEffect::Found { .. })));

    let mut gap = journal.clone();
    gap.entries.remove(1);
    gap.file(Body::Note(None));
    assert!(State::fold(&gap.entries).is_ok(), "renumbered by the helper");
    gap.entries[1].number = number(3);
    assert_eq!(State::fold(&gap.entries), Err(InvalidEffect::Number { expected: 2, found: number(3) }));
    assert_eq!(State::fold(&journal.entries[1..]), Err(InvalidEffect::Number { expected: 1, found: number(2) }));
}

#[test]
fn a_field_is_named_by_its_bits() {
    let mut mask = BitMask::none(2);
    mask.insert(1, 0xF0);
    let field = Field::Undeclared { module: "body".parse().unwrap(), record: "0D02".parse().unwrap(), mask };
    assert_eq!(field.to_string(), "body:0D02 byte 1 bits 4-7 (undeclared)");
    assert_eq!(EntryNumber::FIRST, number(1));
}
