//! A definition that uses every key of the format: what becomes of each.

use asfound_core::definition::{
    Affected, Comparison, Definition, DefinitionSet, Pattern, Permitted, RuleKind, SettingDefinition, Truth,
};
use asfound_core::identity::Identity;
use asfound_core::layout::{ByteOrder, ChecksumKind, Coding, CrcParameters, ValueKind};
use asfound_core::names::{RecordName, SettingPath};
use asfound_core::safety::{SafetyClass, SafetyTag};
use asfound_core::value::Value;

const WHOLE: &str = include_str!("definition_data/whole.toml");

fn whole() -> Definition {
    let parsed = Definition::parse(WHOLE).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(parsed.warnings.to_string(), "");
    parsed.definition
}

fn setting<'d>(definition: &'d Definition, name: &str) -> &'d SettingDefinition {
    &definition.settings()[&name.parse().expect("the tests name settings that there can be")]
}

fn record(text: &str) -> RecordName {
    text.parse().expect("the tests name records that there can be")
}

fn speed(number: i128) -> Value {
    Value::Quantity { number: number.into(), unit: "km/h".into() }
}

#[test]
fn the_head_is_kept() {
    let definition = whole();
    assert_eq!(definition.id().as_str(), "merl-body-2");
    assert_eq!(definition.title(), "Body module, second series");
    assert_eq!(definition.source(), Some("invented for the tests"));
    assert_eq!(definition.systems(), [SafetyTag::Locking, SafetyTag::Immobiliser]);
    assert_eq!(definition.cautions(), ["Keep both keys outside the vehicle while the record is written."]);
    assert_eq!(definition.module().as_str(), "body");
    assert_eq!(definition.text(), WHOLE);
    assert_eq!(definition.undeclared_class(), SafetyClass::Restricted);

    let applies = definition.applies_to();
    let patterns: Vec<_> = applies.part_number().iter().map(Pattern::as_str).collect();
    assert_eq!(patterns, ["7M0-95*", "7M1-9??-A"]);
    assert_eq!(applies.hardware().len(), 1);
    let software = applies.software().unwrap();
    assert_eq!((software.from(), software.below(), software.up_to()), (Some("0100"), Some("0300"), None));
}

#[test]
fn records_know_which_bits_are_whose() {
    let definition = whole();
    assert_eq!(definition.records().len(), 4);
    let comfort = &definition.records()[&record("0D01")];
    assert_eq!((comfort.name(), comfort.label(), comfort.length()), (&record("0D01"), "Comfort functions", 6));
    assert_eq!((0..6).map(|at| comfort.named().byte(at)).collect::<Vec<_>>(), [0x7F, 0xFF, 0x7F, 0, 0, 0]);
    assert_eq!((0..6).map(|at| comfort.volatile().byte(at)).collect::<Vec<_>>(), [0, 0, 0, 0, 0xFF, 0]);
    assert_eq!((0..6).map(|at| comfort.undeclared().byte(at)).collect::<Vec<_>>(), [0x80, 0, 0x80, 0xFF, 0, 0]);
    assert_eq!(comfort.class(), SafetyClass::Caution);
    assert_eq!(comfort.settings().len(), 6);
    let checksum = comfort.checksum().unwrap();
    let crc = CrcParameters {
        width: 8,
        polynomial: 0x1D,
        initial: 0xFF,
        final_xor: 0xFF,
        reflect_in: false,
        reflect_out: false,
    };
    assert_eq!((checksum.kind(), checksum.at()), (ChecksumKind::Crc(crc), 5));
    assert_eq!(checksum.over(), [0..=2, 3..=3]);

    let names = &definition.records()[&record("0D02")];
    let sum = names.checksum().unwrap();
    assert_eq!(sum.kind(), ChecksumKind::Sum { size: 2, complement: true });
    assert_eq!((sum.order(), names.undeclared().count()), (ByteOrder::Little, 0));
    assert_eq!(names.class(), SafetyClass::Routine);

    let counters = &definition.records()[&record("counters")];
    assert_eq!((counters.volatile().count(), counters.undeclared().count()), (64, 0));

    let unknown = &definition.records()[&record("0D03")];
    assert_eq!(unknown.checksum().unwrap().kind(), ChecksumKind::Xor);
    // No setting is in it, and the module's systems are restricted.
    assert_eq!(unknown.class(), SafetyClass::Restricted);
}

#[test]
fn settings_say_everything_about_themselves() {
    let definition = whole();
    assert_eq!(definition.settings().len(), 9);
    let flashes = setting(&definition, "lane_change_flashes");
    assert_eq!(flashes.path().to_string(), "body.lane_change_flashes");
    assert_eq!((flashes.label(), flashes.record()), ("Lane-change flashes", &record("0D01")));
    assert_eq!(flashes.permitted(), &Permitted::Range { min: Value::Integer(1), max: Value::Integer(5) });
    assert_eq!(flashes.factory(), Some(&Value::Integer(3)));
    assert_eq!((flashes.tags(), flashes.class()), (&[SafetyTag::Lighting][..], SafetyClass::Caution));
    assert_eq!(flashes.cautions(), ["Check the flashes on the road side of the vehicle."]);
    assert_eq!(
        flashes.affects(),
        [
            Affected::Module("cluster".parse().unwrap()),
            Affected::Setting("cluster.flash_sound".parse().unwrap()),
            Affected::Setting("body.fog_lamps".parse().unwrap()),
        ]
    );
    assert!(flashes.about().unwrap().starts_with("How often"));
    assert_eq!(flashes.source(), Some("common practice, no source"));
    assert_eq!(flashes.place().line, 36);

    let dimming = setting(&definition, "interior_dimming").layout();
    assert_eq!(dimming.coding(), Coding::TwosComplement);
    assert_eq!(dimming.kind(), &ValueKind::Quantity { unit: "s".into(), decimals: Some(1) });
    assert_eq!(setting(&definition, "greeting").layout().coding(), Coding::Ascii { pad: Some(0x20) });
    assert_eq!(setting(&definition, "service_distance").layout().placement().order(), ByteOrder::Little);
    assert_eq!(setting(&definition, "start_colour").factory(), Some(&Value::Bytes(vec![0; 8].into())));
}

#[test]
fn values_are_decoded_from_a_record_by_hand() {
    let definition = whole();
    // Worked by hand from docs/definitions.md: byte 0 is 0_1_1_01_011.
    let bytes = [0b0110_1011, 3, 0x7F, 0, 0, 0];
    for (name, shown) in [
        ("lane_change_flashes", "3"),
        ("fog_lamps", "fitted"),
        ("cornering_by_fog_lamp", "on"),
        ("lock_tone", "off"),
        ("lock_speed", "15 km/h"),
        ("interior_dimming", "-0.1 s"),
    ] {
        assert_eq!(setting(&definition, name).layout().decode(&bytes).unwrap().to_string(), shown, "{name}");
    }
}

#[test]
fn values_are_checked_against_bits_and_definition() {
    let definition = whole();
    let said = |name: &str, text: &str| match setting(&definition, name).parse_value(text) {
        Ok(value) => value.to_string(),
        Err(error) => error.to_string(),
    };
    assert_eq!(said("lane_change_flashes", "5"), "5");
    assert_eq!(said("lane_change_flashes", "7"), "`7` is not permitted, only 1 to 5");
    assert_eq!(said("lane_change_flashes", "8"), "`8` cannot be stored; the largest that can is 7");
    assert_eq!(said("lane_change_flashes", "x"), "`x` is not a whole number");
    assert_eq!(said("lock_speed", "20"), "20 km/h");
    assert_eq!(said("lock_speed", "35 km/h"), "`35 km/h` is not permitted, only 0 km/h to 30 km/h");
    assert_eq!(said("fog_lamps", "unknown"), "`unknown` is not permitted, only not fitted, fitted");
    assert!(setting(&definition, "lock_speed").check(&Value::Integer(15)).is_err());
    assert!(setting(&definition, "lock_speed").check(&speed(15)).is_ok());
}

#[test]
fn rules_are_kept_broken_or_cannot_be_told() {
    let definition = whole();
    let rules = definition.rules();
    assert_eq!(
        rules.iter().map(|rule| rule.name().as_str()).collect::<Vec<_>>(),
        ["cornering-needs-fog-lamps", "one-confirmation-tone", "slow-lock"]
    );
    assert_eq!(rules[0].because(), "The lamp it would switch is not there");
    assert_eq!(rules[0].source(), Some("common practice, no source"));
    let RuleKind::Needs { when, needs } = rules[0].kind() else { panic!("{:?}", rules[0]) };
    assert_eq!((when.len(), needs.len()), (1, 3));
    let said: Vec<_> = needs.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        ["body.fog_lamps is fitted", "gateway.light_level is at least 2", "gateway.light_level is below 7.5"]
    );
    assert!(matches!(needs[1].test(), Comparison::AtLeast(_)));

    let judge = |number: usize, known: &[(&str, Value)]| {
        rules[number].evaluate(|path: &SettingPath| {
            known.iter().find(|(name, _)| *name == path.to_string()).map(|(_, value)| value.clone())
        })
    };
    let (on, off) = (Value::Switch(true), Value::Switch(false));
    let (fitted, absent) = (Value::Choice("fitted".into()), Value::Choice("not fitted".into()));
    let (cornering, lamps, level) = ("body.cornering_by_fog_lamp", "body.fog_lamps", "gateway.light_level");
    for (known, verdict) in [
        (vec![(cornering, off.clone())], Truth::Holds),
        (vec![(cornering, on.clone()), (lamps, absent)], Truth::Fails),
        (vec![(cornering, on.clone()), (lamps, fitted.clone())], Truth::CannotTell),
        (vec![(cornering, on.clone()), (lamps, fitted.clone()), (level, Value::Integer(2))], Truth::Holds),
        (vec![(cornering, on.clone()), (lamps, fitted.clone()), (level, Value::Integer(8))], Truth::Fails),
        (vec![(lamps, fitted.clone()), (level, Value::Integer(2))], Truth::Holds),
        (vec![], Truth::CannotTell),
    ] {
        assert_eq!(judge(0, &known), verdict, "{known:?}");
    }
    let (tone, chime) = ("body.lock_tone", "cluster.lock_chime");
    for (known, verdict) in [
        (vec![(tone, on.clone()), (chime, Value::Choice("loud".into()))], Truth::Fails),
        (vec![(tone, on.clone()), (chime, Value::Choice("soft".into()))], Truth::Holds),
        (vec![(tone, off)], Truth::Holds),
        (vec![(tone, on)], Truth::CannotTell),
        (vec![], Truth::CannotTell),
    ] {
        assert_eq!(judge(1, &known), verdict, "{known:?}");
    }
    let names: Vec<_> = rules[2].settings().into_iter().map(ToString::to_string).collect();
    assert_eq!(names, ["body.lane_change_flashes", "body.lock_speed", "gateway.region"]);
}

#[test]
fn the_definition_that_fits_is_found_and_two_are_refused() {
    let mut set = DefinitionSet::new();
    assert!(set.is_empty());
    set.add(whole()).unwrap();
    let error = set.add(whole()).unwrap_err();
    assert_eq!(error.to_string(), "there are two definitions named `merl-body-2`");
    let body = "body".parse().unwrap();
    let text = |text: &str| Some(text.to_owned());
    let identity =
        Identity { part_number: text("7M0-951"), hardware: text("H12"), software: text("0299"), serial: None };
    assert_eq!(set.fitting(&body, &identity).unwrap().map(|found| found.id().as_str()), Some("merl-body-2"));
    assert!(set.fitting(&"cluster".parse().unwrap(), &identity).unwrap().is_none());
    assert!(set.fitting(&body, &Identity::default()).unwrap().is_none());
    let path: SettingPath = "body.lock_speed".parse().unwrap();
    assert_eq!(set.setting(&path, &identity).unwrap().map(SettingDefinition::path), Some(&path));
    assert!(set.setting(&"body.none".parse().unwrap(), &identity).unwrap().is_none());

    let twin = WHOLE.replace("id = \"merl-body-2\"", "id = \"another\"");
    set.add(Definition::parse(&twin).unwrap().definition).unwrap();
    let error = set.fitting(&body, &identity).unwrap_err();
    assert_eq!(error.to_string(), "more than one definition fits the module `body`: another, merl-body-2");
    assert!(set.setting(&path, &identity).is_err());
    assert_eq!(set.iter().map(|one| one.id().as_str()).collect::<Vec<_>>(), ["another", "merl-body-2"]);
}

#[test]
fn spare_definitions_step_in_where_no_other_fits() {
    let definition = |id: &str, conditions: &str| {
        let text = format!(
            "format = 'asfound-definition/2'\nid = '{id}'\ntitle = 'X'\n[applies_to]\nmodule = 'body'\n{conditions}\n\
             [records.0D01]\nlabel = 'R'\nlength = 4\n"
        );
        Definition::parse(&text).unwrap().definition
    };
    let mut set = DefinitionSet::new();
    set.add_spare(definition("named-last", "")).unwrap();
    set.add_spare(definition("early", "")).unwrap();
    set.add(definition("own", "software = { from = '2' }")).unwrap();
    set.add_spare(definition("own", "")).unwrap_err();
    let body = "body".parse().unwrap();
    let fitting = |set: &DefinitionSet, software: Option<&str>| {
        let identity = Identity { software: software.map(str::to_owned), ..Identity::default() };
        set.fitting(&body, &identity).map(|found| found.map(|found| found.id().to_string()))
    };
    // A spare one never makes two of the one that fits, and among spare ones the first counts.
    assert_eq!(fitting(&set, Some("2")), Ok(Some("own".to_owned())));
    assert_eq!(fitting(&set, Some("1")), Ok(Some("named-last".to_owned())));
    assert_eq!(fitting(&set, None), Ok(Some("named-last".to_owned())));
    set.add(definition("second", "software = { from = '3' }")).unwrap();
    assert!(fitting(&set, Some("3")).is_err());
    assert!(set.explaining(&body, &Identity { software: Some("3".into()), ..Identity::default() }).is_none());
    // Taken in anew, it is a spare one no more.
    set.replace(definition("early", ""));
    assert_eq!(fitting(&set, None), Ok(Some("early".to_owned())));
}

#[test]
fn the_identity_leaves_out_what_is_unknown() {
    let identity = Identity { software: Some("0200".into()), ..Identity::default() };
    let json = serde_json::to_string(&identity).unwrap();
    assert_eq!(json, "{\"software\":\"0200\"}");
    assert_eq!(serde_json::from_str::<Identity>(&json).unwrap(), identity);
    assert!(!identity.is_unknown() && Identity::default().is_unknown());
}

#[test]
fn bits_that_nobody_named_are_never_routine() {
    for (systems, module, class) in [
        ("", "body", SafetyClass::Caution),
        ("'comfort'", "body", SafetyClass::Caution),
        ("'comfort', 'steering'", "body", SafetyClass::Restricted),
        ("", "park_brake", SafetyClass::Restricted),
    ] {
        let text = format!(
            "format = 'asfound-definition/1'\nid = 'x'\ntitle = 'X'\nsystems = [{systems}]\n[applies_to]\nmodule = \
             '{module}'\n[records.fade]\nlabel = 'R'\nlength = 1\n"
        );
        let definition = Definition::parse(&text).unwrap().definition;
        assert_eq!(definition.undeclared_class(), class, "{systems} {module}");
        assert_eq!(definition.records()[&record("fade")].class(), class);
    }
}

/// The example that docs/definitions.md builds up, put together from its parts.
#[test]
fn the_documented_example_is_accepted() {
    let page = include_str!("../../../docs/definitions.md");
    let example: Vec<&str> =
        page.split("```toml\n").skip(1).map(|rest| rest.split("```").next().unwrap_or_default()).collect();
    assert!(example.len() > 3);
    // The page's rules are about settings that it does not describe.
    let more = [
        ("cornering_by_fog_lamp", "switch", "off = 0, on = 1", 3),
        ("lock_tone", "switch", "off = 0, on = 1", 4),
        ("fog_lamps", "choice", "absent = 0, fitted = 1", 5),
    ]
    .map(|(name, kind, choices, bit)| {
        format!(
            "[settings.{name}]\nlabel = 'L'\nrecord = '0D01'\nbyte = 0\nbit = {bit}\nbits = 1\ntype = '{kind}'\n\
             choices = {{ {choices} }}\ntags = ['lighting']\n"
        )
    });
    let text = [example.join("\n"), more.concat()].join("\n");
    assert_eq!(Definition::check(&text).to_string(), "");
}
