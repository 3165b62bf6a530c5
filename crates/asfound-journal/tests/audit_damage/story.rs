//! A small journal, filed as the program files it.

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Author, Body, Correction, Effects, IdentityEffect, ModuleCoverage, PutBackOf, ReadingBody, ReadingRole, Reason,
    RecordEffect, StatedEffect, Vehicle, WorkBody,
};
use asfound_core::identity::Identity;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::situation::Situation;
use asfound_core::trouble_code::ReportedCode;
use asfound_core::value::HexBytes;
use asfound_journal::journal::{Attachment, EntryDraft, EntryRandomness, Journal, JournalError, Signing};
use asfound_journal::sign::Signer;
use asfound_journal::store::Store;
use time::OffsetDateTime;
use time::macros::datetime;

pub(crate) const START: OffsetDateTime = datetime!(2026-03-14 09:20 +1);

const DEFINITION: &str = r#"
format = "asfound-definition/1"
id = "invented-body"
title = "An invented body module"
[applies_to]
module = "body"
[records.0D01]
label = "Comfort functions"
length = 2
[settings.lane_change_flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 0
bits = 3
type = "integer"
tags = ["lighting"]
"#;

pub(crate) fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

pub(crate) fn number(n: u32) -> EntryNumber {
    EntryNumber::new(n).unwrap()
}

pub(crate) fn definition() -> Definition {
    Definition::parse(DEFINITION).unwrap().definition
}

pub(crate) fn definitions() -> DefinitionSet {
    let mut definitions = DefinitionSet::new();
    definitions.add(definition()).unwrap();
    definitions
}

/// An entry as it is drawn up, so many hours after the start; the random bits follow from the hour.
pub(crate) fn draft(hours: i64, body: &Body, evidence: &[(&str, &str)]) -> EntryDraft {
    let at = START + time::Duration::hours(hours);
    let mark = u8::try_from(hours & 0x7F).unwrap();
    let attached = evidence.iter();
    EntryDraft {
        recorded: at,
        happened: at,
        precision: asfound_core::moment::Precision::Second,
        author: Author::new("Edda Brandt", None).unwrap(),
        why: Reason::try_from(format!("hour {hours}")).unwrap(),
        body: body.clone(),
        evidence: attached
            .map(|(name, text)| Attachment { name: (*name).to_owned(), content: text.as_bytes().to_vec() })
            .collect(),
        chance: EntryRandomness { entry: [mark; 16], vehicle: [mark; 16], blind: [mark; 32] },
    }
}

/// Files one entry, so many hours after the start. The random bits follow from the vehicle and the hour.
pub(crate) fn file(store: &impl Store, vehicle: &Tag, hours: i64, why: &str, body: &Body, evidence: &[(&str, &str)]) {
    file_signed(store, vehicle, hours, why, body, evidence, None);
}

fn file_signed(
    store: &impl Store,
    vehicle: &Tag,
    hours: i64,
    why: &str,
    body: &Body,
    evidence: &[(&str, &str)],
    signing: Option<Signing<'_>>,
) {
    let at = START + time::Duration::hours(hours);
    let mark = vehicle.as_str().bytes().fold(u8::try_from(hours & 0x7F).unwrap(), u8::wrapping_add);
    Journal::new(store, vehicle.clone())
        .signing(signing)
        .file(&definitions(), |_| {
            Ok::<_, JournalError>(EntryDraft {
                recorded: at,
                happened: at,
                precision: asfound_core::moment::Precision::Second,
                author: Author::new("Edda Brandt", Some("edda@workshop.example")).unwrap(),
                why: Reason::try_from(why.to_owned()).unwrap(),
                body: body.clone(),
                evidence: evidence
                    .iter()
                    .map(|(name, text)| Attachment { name: (*name).to_owned(), content: text.as_bytes().to_vec() })
                    .collect(),
                chance: EntryRandomness { entry: [mark; 16], vehicle: [mark; 16], blind: [mark; 32] },
            })
        })
        .unwrap();
}

pub(crate) fn enrolled(vehicle: &Tag) -> Body {
    Body::Enrolled(Vehicle { tag: vehicle.clone(), vin: None, about: None, enrolled: START })
}

fn bytes(text: &str) -> HexBytes {
    text.parse().unwrap()
}

fn record(found: Option<&str>, left: &str) -> Effects {
    let (module, record) = ("body".parse().unwrap(), "0D01".parse().unwrap());
    let effect = RecordEffect { module, record, found: found.map(bytes), left: bytes(left) };
    Effects { records: vec![effect], ..Effects::default() }
}

pub(crate) fn reading(role: ReadingRole, effects: Effects) -> Body {
    let codes = vec![ReportedCode::new("B1234".parse().unwrap(), None)];
    let covered = ModuleCoverage {
        records: ["0D01".parse().unwrap()].into(),
        trouble_codes: Some(codes),
        ..ModuleCoverage::default()
    };
    Body::Reading(ReadingBody {
        role,
        partial: false,
        by: None,
        tool: None,
        odometer_km: Some(84_210),
        supply_voltage: None,
        situation: Situation::default(),
        covered: [("body".parse().unwrap(), covered)].into(),
        effects,
        late: std::collections::BTreeMap::new(),
    })
}

pub(crate) fn first_reading() -> Body {
    let left = Identity { part_number: Some("4107.BD.21".to_owned()), ..Identity::default() };
    let mut effects = record(None, "03 10");
    effects.identities.push(IdentityEffect { module: "body".parse().unwrap(), found: Identity::default(), left });
    reading(ReadingRole::AsFound, effects)
}

pub(crate) fn change(found: &str, left: &str) -> Body {
    Body::Change(WorkBody { effects: record(Some(found), left), ..WorkBody::default() })
}

/// Seven entries of every kind, an hour apart.
pub(crate) fn tell(store: &impl Store, vehicle: &Tag) {
    tell_until(store, vehicle, 7, "the owner wants five");
}

/// The same, each entry signed with the key that is given for it.
pub(crate) fn tell_signed<'s>(store: &impl Store, vehicle: &Tag, signer: impl Fn(usize) -> Option<&'s dyn Signer>) {
    tell_with(store, vehicle, 7, "the owner wants five", signer);
}

/// The first of them; `wish` is the reason of entry 3.
pub(crate) fn tell_until(store: &impl Store, vehicle: &Tag, last: usize, wish: &str) {
    tell_with(store, vehicle, last, wish, |_| None);
}

fn tell_with<'s>(
    store: &impl Store,
    vehicle: &Tag,
    last: usize,
    wish: &str,
    signer: impl Fn(usize) -> Option<&'s dyn Signer>,
) {
    let put_back = WorkBody { effects: record(Some("05 10"), "03 10"), ..WorkBody::default() };
    let stated = StatedEffect {
        module: "doors".parse().unwrap(),
        setting: "chime".parse().unwrap(),
        found: None,
        left: Some("soft".to_owned()),
    };
    let effects = Effects { stated: vec![stated], ..Effects::default() };
    let correction = Correction { effects, ..Correction::of(number(4)) };
    let entries = [
        ("journal started", enrolled(vehicle), ""),
        ("before the work", first_reading(), "battery at 12.6 V\n"),
        (wish, change("03 10", "05 10"), "signed order\n"),
        ("the chime is soft", Body::Note(Some(number(3))), ""),
        ("the owner wants it back", Body::PutBack(PutBackOf::Entries(vec![number(3)]), put_back), ""),
        ("forgot the chime", Body::Correction(correction), ""),
        ("weeks later", reading(ReadingRole::Check, Effects::default()), ""),
    ];
    for ((hours, (why, body, evidence)), at) in (0..).zip(entries).zip(0..last) {
        let evidence = [("paper.txt", evidence)];
        let evidence = if evidence[0].1.is_empty() { &[][..] } else { &evidence };
        let signing = signer(at + 1).map(|signer| Signing { signer, meaning: None });
        file_signed(store, vehicle, hours, why, &body, evidence, signing);
    }
}
