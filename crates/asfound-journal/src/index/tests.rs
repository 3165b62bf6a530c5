//! What is written of an entry gives the entry back, whole and in part.

use std::collections::BTreeMap;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Acknowledgement, Author, AuthorisedItem, Body, BusLogBody, BusPlace, CorrectedTerm, Correction, Effects, Entry,
    FiledLog, IdentityEffect, Mending, ModuleCoverage, OrderTerms, PutBackOf, ReadingBody, ReadingRole, Reason,
    RecordEffect, StatedEffect, StepOutcome, StepReport, TermSubject, Vehicle, WireAction, WireAnswer, WireGap,
    WireMovement, WireWrite, WorkBody,
};
use asfound_core::history::OneSetting;
use asfound_core::identity::Identity;
use asfound_core::moment::Precision;
use asfound_core::names::EntryNumber;
use asfound_core::safety::SafetyTag;
use asfound_core::situation::{Engine, Ignition, Situation};
use asfound_core::trouble_code::{CodeStatus, FreezeFrame, ReportedCode};
use asfound_core::value::HexBytes;
use proptest::prelude::*;
use time::{OffsetDateTime, UtcOffset};

use super::decode::{decode, decode_part};
use super::encode::encode;
use crate::Digest;
use crate::entry_files::{Chain, ReplayOrigin, Salt};
use crate::journal::FiledEntry;
use crate::sign::{Meaning, SignedAs};

fn moments() -> impl Strategy<Value = OffsetDateTime> {
    (-62_000_000_000_i64..253_000_000_000, -1_439_i32..1_440, 0_u32..1_000_000_000).prop_map(|(at, offset, nano)| {
        let at = OffsetDateTime::from_unix_timestamp(at).unwrap().replace_nanosecond(nano).unwrap();
        at.to_offset(UtcOffset::from_whole_seconds(offset * 60).unwrap())
    })
}

fn identities() -> impl Strategy<Value = Identity> {
    ("[A-Z0-9]{1,6}", proptest::option::of(".{1,8}")).prop_map(|(part, software)| Identity {
        part_number: Some(part),
        software,
        ..Identity::default()
    })
}

fn modules() -> impl Strategy<Value = asfound_core::names::ModuleName> {
    prop_oneof!["body", "brakes", "[a-z]{1,9}"].prop_map(|name| name.parse().unwrap())
}

fn records() -> impl Strategy<Value = asfound_core::names::RecordName> {
    prop_oneof!["0D01", "[0-9A-F]{4}", "[a-z]{2,5}"].prop_map(|name| name.parse().unwrap())
}

fn settings() -> impl Strategy<Value = asfound_core::names::SettingName> {
    prop_oneof!["flashes", "[a-z]{1,5}"].prop_map(|name| name.parse().unwrap())
}

fn bytes() -> impl Strategy<Value = HexBytes> {
    proptest::collection::vec(any::<u8>(), 0..40).prop_map(HexBytes::from)
}

fn effects() -> impl Strategy<Value = Effects> {
    let identity = (modules(), identities(), identities()).prop_map(|(module, found, left)| IdentityEffect {
        module,
        found,
        left,
    });
    let record = (modules(), records(), proptest::option::of(bytes()), bytes())
        .prop_map(|(module, record, found, left)| RecordEffect { module, record, found, left });
    let value = || proptest::option::of("\\PC{1,9}");
    let stated = (modules(), settings(), value(), value()).prop_map(|(module, setting, found, left)| StatedEffect {
        module,
        setting,
        found,
        left,
    });
    let some = 0..4;
    (
        proptest::collection::vec(identity, some.clone()),
        proptest::collection::vec(record, some.clone()),
        proptest::collection::vec(stated, some),
    )
        .prop_map(|(identities, records, stated)| Effects { identities, records, stated })
}

fn codes() -> impl Strategy<Value = Vec<ReportedCode>> {
    let code = prop_oneof!["P0420", "U[01][0-9]{3}"].prop_map(|code| code.parse().unwrap());
    let frame = (proptest::option::of(bytes()), proptest::collection::btree_map(settings(), "\\PC{0,5}", 0..2))
        .prop_map(|(raw, values)| FreezeFrame { raw, values });
    let numbers = || proptest::option::of(any::<u32>());
    let one = (code, proptest::option::of(any::<u8>()), numbers(), numbers(), proptest::option::of(frame)).prop_map(
        |(code, status, occurrences, odometer_km, freeze_frame)| ReportedCode {
            occurrences,
            odometer_km,
            freeze_frame,
            ..ReportedCode::new(code, status.map(CodeStatus))
        },
    );
    proptest::collection::vec(one, 0..3)
}

fn situations() -> impl Strategy<Value = Situation> {
    let engine = proptest::option::of(prop_oneof![Just(Engine::Running), Just(Engine::Stopped)]);
    let ignition = proptest::option::of(prop_oneof![Just(Ignition::On), Just(Ignition::Off)]);
    (engine, ignition, proptest::collection::btree_set(modules(), 0..3))
        .prop_map(|(engine, ignition, did_not_answer)| Situation { engine, ignition, did_not_answer })
}

fn covered() -> impl Strategy<Value = BTreeMap<asfound_core::names::ModuleName, ModuleCoverage>> {
    let names = || proptest::collection::btree_set(records(), 0..4);
    let address = proptest::option::of((0_u16..0x800).prop_map(|address| format!("0x{address:X}").parse().unwrap()));
    let settings = proptest::collection::btree_set(settings(), 0..3);
    let one = (address, names(), settings, names(), proptest::option::of(codes())).prop_map(
        |(address, records, settings, refused, trouble_codes)| ModuleCoverage {
            address,
            records,
            settings,
            refused,
            trouble_codes,
        },
    );
    proptest::collection::btree_map(modules(), one, 0..4)
}

fn numbers() -> impl Strategy<Value = EntryNumber> {
    (1_u32..).prop_map(|n| EntryNumber::new(n).unwrap())
}

fn reasons() -> impl Strategy<Value = Reason> {
    "[a-zé]\\PC{0,20}".prop_map(|text| Reason::try_from(text).unwrap())
}

fn steps() -> impl Strategy<Value = StepReport> {
    let text = || proptest::option::of("\\PC{0,5}");
    let place = (modules(), proptest::option::of(records()), proptest::option::of(settings()));
    (place, text(), text(), text(), text()).prop_map(|((module, record, setting), found, write, answer, read_back)| {
        StepReport { module, record, setting, outcome: StepOutcome::InDoubt, found, write, answer, read_back }
    })
}

fn work() -> impl Strategy<Value = WorkBody> {
    let steps = proptest::collection::vec(steps(), 0..3);
    (effects(), any::<bool>(), proptest::option::of(any::<u32>()), "\\PC{0,9}", steps).prop_map(
        |(effects, one_way, run, grounds, steps)| WorkBody {
            late: effects.clone(),
            settings: vec!["body.flashes".parse().unwrap()],
            one_way,
            plan: run.map(|_| "00112233aabbccdd".parse().unwrap()),
            run,
            steps,
            acknowledgements: vec![Acknowledgement { tag: SafetyTag::Braking, name: "E. B.".to_owned(), grounds }],
            effects,
        },
    )
}

fn terms() -> impl Strategy<Value = OrderTerms> {
    (reasons(), proptest::option::of(reasons()), bytes()).prop_map(|(consent, estimate, left)| OrderTerms {
        number: "A-17/3".parse().unwrap(),
        consent,
        estimate,
        put_right: vec![CorrectedTerm {
            term: TermSubject::Setting { setting: "body.flahes".parse().unwrap() },
            meant: AuthorisedItem::Unit { module: "body".parse().unwrap() },
        }],
        withdrawn: vec![
            TermSubject::Record { module: "body".parse().unwrap(), record: "0D02".parse().unwrap() },
            TermSubject::Unit { module: "lamps".parse().unwrap() },
        ],
        authorised: vec![
            AuthorisedItem::Record { module: "body".parse().unwrap(), record: "0D01".parse().unwrap(), left },
            AuthorisedItem::Unit { module: "brakes".parse().unwrap() },
            AuthorisedItem::Setting { setting: "body.flashes".parse().unwrap(), left: "5".to_owned() },
        ],
    })
}

fn witness() -> impl Strategy<Value = BusLogBody> {
    let hex = || proptest::option::of(bytes());
    let number = || proptest::option::of(numbers());
    let write = ((modules(), records()), hex(), hex(), hex(), number(), number()).prop_map(
        |((module, record), found, written, read_back, entry, shown_by)| WireWrite {
            module,
            record,
            at: Some(time::macros::datetime!(2026-03-14 09:20:05.125 +01:00)),
            found,
            written,
            answer: WireAnswer::Accepted,
            refusal: None,
            own: read_back.is_some(),
            mended: entry.map(|_| Mending::Doubled).into_iter().collect(),
            gap: read_back.clone().map(|before| WireGap { before: before.clone(), missing: 7, after: Some(before) }),
            tester: shown_by.map(|_| "18DA0EF1".to_owned()),
            read_back,
            entry,
            shown_by,
        },
    );
    (proptest::collection::vec(write, 0..3), proptest::option::of(any::<i64>()), "\\PC{1,9}").prop_map(
        |(writes, journal_later_ms, name)| BusLogBody {
            journal_later_ms,
            filed: writes.iter().filter_map(|write| write.entry).collect(),
            logs: vec![FiledLog {
                name: name.clone(),
                sha256: "0123456789abcdef".repeat(4).try_into().unwrap(),
                bytes: 9,
                first: None,
                last: None,
            }],
            moved: writes
                .iter()
                .filter_map(|write| {
                    Some(WireMovement {
                        module: write.module.clone(),
                        record: write.record.clone(),
                        bits: write.written.clone()?,
                        times: 3,
                        from: write.at,
                        until: None,
                    })
                })
                .collect(),
            actions: writes
                .iter()
                .map(|write| WireAction {
                    module: write.module.clone(),
                    at: None,
                    what: name.clone(),
                    answer: WireAnswer::None,
                })
                .collect(),
            modules: [("body".parse().unwrap(), vec![BusPlace { asked: vec!["7E0".to_owned()], answers: name }])]
                .into(),
            writes,
            put_later_ms: None,
        },
    )
}

fn bodies() -> impl Strategy<Value = Body> {
    let enrolled = (proptest::option::of("\\PC{1,9}"), moments()).prop_map(|(about, enrolled)| {
        Body::Enrolled(Vehicle { tag: "wren".parse().unwrap(), vin: None, about, enrolled })
    });
    let reading = (effects(), covered(), any::<bool>(), proptest::option::of(any::<u32>()), situations()).prop_map(
        |(effects, covered, partial, odometer_km, situation)| {
            Body::Reading(ReadingBody {
                role: ReadingRole::Check,
                partial,
                by: partial.then(|| "E. B.".to_owned()),
                tool: partial.then(|| "the bench".to_owned()),
                odometer_km,
                supply_voltage: Some("12.60".parse().unwrap()),
                situation,
                covered,
                effects,
                late: std::collections::BTreeMap::new(),
            })
        },
    );
    let of = prop_oneof![
        proptest::collection::vec(numbers(), 1..4).prop_map(PutBackOf::Entries),
        numbers().prop_map(PutBackOf::ReturnTo)
    ];
    let correction = (numbers(), any::<bool>(), proptest::option::of(reasons()), effects()).prop_map(
        |(corrects, never_made, words, effects)| {
            let was = [("body.flashes".parse().unwrap(), "3".to_owned())].into();
            Body::Correction(Correction {
                corrects,
                never_made,
                was,
                words,
                effects,
                happened: None,
                precision: asfound_core::moment::Precision::Second,
            })
        },
    );
    prop_oneof![
        enrolled,
        reading,
        work().prop_map(Body::Change),
        (of, work()).prop_map(|(of, work)| Body::PutBack(of, work)),
        correction,
        proptest::option::of(numbers()).prop_map(Body::Note),
        terms().prop_map(Body::OrderOpened),
        terms().prop_map(Body::OrderExtended),
        terms().prop_map(|terms| Body::OrderClosed(terms.number)),
        witness().prop_map(Body::Witness),
    ]
}

fn replayed() -> impl Strategy<Value = ReplayOrigin> {
    (numbers(), "[0-9a-f]{40}", moments(), "\\PC{1,9}").prop_map(|(number, commit, recorded, by)| ReplayOrigin {
        number,
        commit: commit.parse().unwrap(),
        recorded,
        by,
    })
}

fn precisions() -> impl Strategy<Value = Precision> {
    prop_oneof![Just(Precision::Second), Just(Precision::Day), Just(Precision::Month), Just(Precision::Year)]
}

prop_compose! {
    fn filed()(
        commit in "[0-9a-f]{40}", number in numbers(), recorded in moments(), happened in moments(), precision in precisions(),
        name in "[A-Z][a-zé ]{0,12}", email in proptest::option::of("[a-z]{1,5}@[a-z]{1,5}"), why in reasons(),
        body in bodies(), entries: u64, root: [u8; 32], peaks in proptest::collection::vec(0_u8..3, 0..5), signed: bool,
        salt: [u8; 16], replayed in proptest::option::of(replayed()), source: Option<[u8; 32]>,
    ) -> FiledEntry {
        let author = Author::new(&name, email.as_deref()).unwrap();
        // Few digests there are, so that neighbours share some.
        let peaks = peaks.into_iter().map(|peak| Digest::of(&[peak])).collect();
        let key = format!("SHA256:{}", "A".repeat(43)).parse().unwrap();
        FiledEntry {
            commit: commit.parse().unwrap(),
            entry: Entry { number, recorded, happened, precision, author, why, body },
            chain: Chain { entries, root: Digest::from(root), peaks },
            signed: signed.then_some(SignedAs { meaning: Meaning::Made, key }),
            salt: Salt::from(salt),
            replayed,
            source: source.map(Digest::from),
        }
    }
}

fn definitions() -> DefinitionSet {
    let text = "format = \"asfound-definition/1\"\nid = \"invented\"\ntitle = \"Invented\"\n[applies_to]\nmodule = \"body\"\n\
        [records.0D01]\nlabel = \"Functions\"\nlength = 2\n[settings.flashes]\nlabel = \"Flashes\"\nrecord = \"0D01\"\n\
        byte = 0\nbits = 3\ntype = \"integer\"\ntags = [\"lighting\"]\n";
    let mut definitions = DefinitionSet::new();
    definitions.add(Definition::parse(text).unwrap().definition).unwrap();
    definitions
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn an_entry_comes_back_as_it_was(entries in proptest::collection::vec(filed(), 1..5)) {
        let one = OneSetting::new("body.flashes".parse().unwrap(), &definitions());
        let (mut written, mut read) = (Vec::new(), Vec::new());
        for filed in &entries {
            let content = encode(filed, &mut written).unwrap();
            let back = decode(&content, &mut read).unwrap();
            prop_assert_eq!(&back, filed);
            // Moments are equal whatever their offset.
            prop_assert_eq!(back.entry.happened.offset(), filed.entry.happened.offset());
            prop_assert_eq!(back.entry.recorded.offset(), filed.entry.recorded.offset());
            prop_assert_eq!(decode_part(&content, &one).unwrap(), one.part_of(&filed.entry));
            for cut in 0..content.len() {
                prop_assert!(decode(&content[..cut], &mut read.clone()).is_none());
            }
        }
    }

    #[test]
    fn anything_at_all_is_read_without_harm(bytes: Vec<u8>) {
        let one = OneSetting::new("body.flashes".parse().unwrap(), &definitions());
        let _ = decode(&bytes, &mut Vec::new());
        let _ = decode_part(&bytes, &one);
    }
}

/// If this fails, entries are written otherwise than before: raise [`VERSION`](super::encode::VERSION), and put the new
/// digest here.
#[test]
fn the_form_goes_with_the_version() {
    let at = time::macros::datetime!(2026-03-14 09:20:05 +01:00);
    let effects = Effects {
        records: vec![RecordEffect {
            module: "body".parse().unwrap(),
            record: "0D01".parse().unwrap(),
            found: Some(vec![3, 0x10].into()),
            left: vec![5, 0x10].into(),
        }],
        ..Effects::default()
    };
    let situation = Situation { ignition: Some(Ignition::On), ..Situation::default() };
    let code = ReportedCode::new("U0121".parse().unwrap(), Some(CodeStatus(9)));
    let covered = ModuleCoverage { trouble_codes: Some(vec![code]), ..ModuleCoverage::default() };
    let reading = ReadingBody {
        role: ReadingRole::AsLeft,
        partial: true,
        by: None,
        tool: None,
        odometer_km: Some(84_117),
        supply_voltage: None,
        situation,
        covered: [("brakes".parse().unwrap(), covered)].into(),
        effects: effects.clone(),
        late: std::collections::BTreeMap::new(),
    };
    let filed = |number: u32, body: Body| FiledEntry {
        commit: "0123456789abcdef0123456789abcdef01234567".parse().unwrap(),
        entry: Entry {
            number: EntryNumber::new(number).unwrap(),
            recorded: at,
            happened: at,
            precision: asfound_core::moment::Precision::Second,
            author: Author::new("Edda Brandt", Some("edda@workshop.example")).unwrap(),
            why: Reason::try_from("the owner wants five".to_owned()).unwrap(),
            body,
        },
        chain: Chain { entries: u64::from(number) - 1, root: Digest::of(b"root"), peaks: vec![Digest::of(b"root")] },
        signed: None,
        salt: Salt::from([7; 16]),
        replayed: None,
        source: Some(Digest::of(b"source")),
    };
    let terms = OrderTerms {
        authorised: vec![AuthorisedItem::Unit { module: "brakes".parse().unwrap() }],
        ..OrderTerms::new("A-17/3".parse().unwrap(), Reason::try_from("by phone".to_owned()).unwrap())
    };
    let bodies =
        [Body::Change(WorkBody { effects, ..WorkBody::default() }), Body::Reading(reading), Body::OrderOpened(terms)];
    let (mut peaks, mut all) = (Vec::new(), Vec::new());
    for (number, body) in (3..).zip(bodies) {
        all.extend(encode(&filed(number, body), &mut peaks).unwrap());
    }
    assert_eq!(
        (super::encode::VERSION, Digest::of(&all).to_string().as_str()),
        (5, "eb776cf2b6cd260614bdfac93f747e8d12ccd0a6e47516dbb843970436023d56")
    );
}
