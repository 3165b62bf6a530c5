//! How much care a step needs, and that nobody gets around it.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::Acknowledgement;
use asfound_core::plan::{Plan, Targets, acknowledge};
use asfound_core::safety::{SafetyClass, SafetyTag};
use support::*;

fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, BRAKES, CLUSTER]);
    journal.read(
        reading()
            .module("body")
            .software("0100")
            .record("0D01", "43 01 99 44")
            .record("0D02", "03 A0")
            .module("brakes")
            .record("2A01", "00 00")
            .record("2A02", "01")
            .record("2A03", "07")
            .module("cluster")
            .record("3B01", "31")
            .record("3B02", "00")
            .module("rear_airbag")
            .record("1A01", "00")
            .module("seat")
            .value("height", "3"),
    );
    journal
}

fn classes(plan: &Plan) -> Vec<(String, SafetyClass, Vec<SafetyTag>)> {
    plan.steps.iter().map(|step| (step.module.to_string(), step.class, step.restricted.clone())).collect()
}

fn of(wanted: &[(&str, &str)]) -> Vec<(String, SafetyClass, Vec<SafetyTag>)> {
    let journal = journal();
    let mut targets = journal.targets(wanted);
    targets.allow_one_way();
    classes(&journal.plan(&targets).unwrap())
}

fn of_record(module: &str, record: &str, bytes: &str) -> (SafetyClass, Vec<SafetyTag>, String) {
    let mut targets = Targets::new();
    targets.choose_record(module.parse().unwrap(), record.parse().unwrap(), hex(bytes));
    targets.allow_one_way();
    let plan = journal().plan(&targets).unwrap();
    assert_eq!(plan.steps.len(), 1);
    (plan.steps[0].class, plan.steps[0].restricted.clone(), plan.steps[0].cautions.join(" "))
}

#[test]
fn a_record_has_the_strictest_class_of_any_setting_in_it() {
    // `fold` is comfort, but `flashes` is lighting and lies in the same record.
    assert_eq!(of(&[("body.fold", "on")]), [("body".to_owned(), SafetyClass::Caution, vec![])]);
    assert_eq!(of(&[("body.speed", "20")]), [("body".to_owned(), SafetyClass::Routine, vec![])]);
    assert_eq!(of(&[("cluster.chime", "off")]), [("cluster".to_owned(), SafetyClass::Routine, vec![])]);
}

#[test]
fn bits_without_a_name_in_a_restricted_module_are_restricted() {
    let braking = vec![SafetyTag::Braking];
    // The write carries byte 1, of which nobody knows what it does.
    assert_eq!(of(&[("brakes.hill_hold", "on")]), [("brakes".to_owned(), SafetyClass::Restricted, braking.clone())]);
    // Every bit of this record has a name and a tag.
    assert_eq!(of(&[("brakes.lamp_test", "2")]), [("brakes".to_owned(), SafetyClass::Routine, vec![])]);
    let (class, restricted, cautions) = of_record("brakes", "2A03", "08");
    assert_eq!((class, restricted), (SafetyClass::Restricted, braking));
    assert!(cautions.contains("No definition"), "{cautions}");
    let (class, restricted, _) = of_record("rear_airbag", "1A01", "08");
    assert_eq!((class, restricted), (SafetyClass::Restricted, vec![SafetyTag::Restraint]));
}

#[test]
fn what_nobody_has_named_is_never_routine() {
    let (class, restricted, cautions) = of_record("cluster", "3B02", "01");
    assert_eq!((class, restricted), (SafetyClass::Caution, vec![]));
    assert!(cautions.contains("No definition"), "{cautions}");
    let (class, _, cautions) = of_record("body", "0D02", "03 A1");
    assert_eq!(class, SafetyClass::Caution);
    assert!(cautions.contains("no definition names"), "{cautions}");
}

/// Without a definition there is the name alone; where it says nothing, nobody knows.
#[test]
fn what_no_definition_explains_is_told_by_its_names() {
    assert_eq!(of(&[("seat.height", "4")]), [("seat".to_owned(), SafetyClass::NotKnown, vec![])]);
    assert_eq!(of_record("seat", "5A01", "01").0, SafetyClass::NotKnown);
    for (module, record, system) in [
        ("abs", "2A01", SafetyTag::Braking),
        ("bremsen", "2A01", SafetyTag::Braking),
        ("srs", "1A01", SafetyTag::Restraint),
        ("eps", "4A01", SafetyTag::Steering),
        ("lenkung", "4A01", SafetyTag::Steering),
        ("wegfahrsperre", "5A01", SafetyTag::Immobiliser),
        ("high_voltage", "6A01", SafetyTag::HighVoltage),
        // A block of bytes has a name too.
        ("gateway", "airbag_coding", SafetyTag::Restraint),
    ] {
        let (class, restricted, _) = of_record(module, record, "01");
        assert_eq!((class, restricted), (SafetyClass::Restricted, vec![system]), "{module}:{record}");
    }
    for (setting, system) in [("gateway.airbag_off", SafetyTag::Restraint), ("seat.srs_lamp", SafetyTag::Restraint)] {
        let module = setting.split('.').next().unwrap().to_owned();
        assert_eq!(of(&[(setting, "on")]), [(module, SafetyClass::Restricted, vec![system])]);
    }
    // A definition says what its settings are, whatever they are called; what it does not name is told by its name.
    let text =
        CLUSTER.replace("settings.chime", "settings.brake_chime").replace("cluster.chime", "cluster.brake_chime");
    let mut journal = Journal::new([&text[..]]);
    journal.read(reading().module("cluster").record("3B01", "31"));
    assert_eq!(
        classes(&journal.plan(&journal.targets(&[("cluster.brake_chime", "off")])).unwrap()),
        [("cluster".to_owned(), SafetyClass::Routine, vec![])]
    );
}

/// A setting with a restricted tag makes its record restricted whichever module it is in.
#[test]
fn a_restricted_setting_makes_its_whole_record_restricted() {
    let text = BODY_1.replace(
        "[settings.fade]",
        "[settings.start]\nlabel = \"Start without key\"\nrecord = \"0D02\"\nbyte = 1\nbits = 1\ntype = \"switch\"\ntags = [\"immobiliser\"]\n\n[settings.fade]",
    );
    let mut journal = Journal::new([&text[..]]);
    journal.read(reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0"));
    let plan = journal.plan(&journal.targets(&[("body.speed", "20"), ("body.fold", "on")])).unwrap();
    assert_eq!(
        classes(&plan),
        [
            ("body".to_owned(), SafetyClass::Caution, vec![]),
            ("body".to_owned(), SafetyClass::Restricted, vec![SafetyTag::Immobiliser]),
        ]
    );
}

#[test]
fn systems_of_a_definition_count_for_bits_without_a_name() {
    let text = CLUSTER.replace("title = \"Cluster\"", "title = \"Cluster\"\nsystems = [\"high-voltage\"]");
    let mut journal = Journal::new([&text[..]]);
    journal.read(reading().module("cluster").record("3B01", "31"));
    let plan = journal.plan(&journal.targets(&[("cluster.chime", "off")])).unwrap();
    // Bits 1 to 3 of the record have no name.
    let expected = [("cluster".to_owned(), SafetyClass::Restricted, vec![SafetyTag::HighVoltage])];
    assert_eq!(classes(&plan), expected);
}

fn acknowledged(tag: SafetyTag, name: &str, grounds: &str) -> Acknowledgement {
    Acknowledgement { tag, name: name.to_owned(), grounds: grounds.to_owned() }
}

#[test]
fn a_restricted_step_is_refused_unless_acknowledged_by_tag_name_and_reason() {
    let journal = journal();
    let mut targets = journal.targets(&[("brakes.hill_hold", "on"), ("cluster.chime", "off")]);
    targets.choose_record("rear_airbag".parse().unwrap(), "1A01".parse().unwrap(), hex("08"));
    let plan = journal.plan(&targets).unwrap();
    let missing = |acknowledgements: &[Acknowledgement]| match acknowledge(&plan, acknowledgements) {
        Ok(_) => vec![],
        Err(missing) => missing.0,
    };
    let both = vec![SafetyTag::Braking, SafetyTag::Restraint];
    let good = [
        acknowledged(SafetyTag::Braking, "A. Smith", "customer's order 7"),
        acknowledged(SafetyTag::Restraint, "A. Smith", "customer's order 7"),
    ];
    assert_eq!(missing(&[]), both);
    assert_eq!(missing(&good[..1]), [SafetyTag::Restraint]);
    assert_eq!(missing(&good), []);
    assert_eq!(missing(&[acknowledged(SafetyTag::Steering, "A. Smith", "customer's order 7")]), both);
    assert_eq!(
        missing(&[acknowledged(SafetyTag::Braking, " ", "order"), acknowledged(SafetyTag::Restraint, "A", "")]),
        both
    );
    let error = acknowledge(&plan, &[]).unwrap_err();
    assert!(error.to_string().contains("braking, restraint"), "{error}");
    // Restricted steps come last.
    let order: Vec<&str> = plan.steps.iter().map(|step| step.module.as_str()).collect();
    assert_eq!(order, ["cluster", "brakes", "rear_airbag"]);
    assert_eq!(acknowledge(&plan, &good).unwrap().work().acknowledgements, good);
    // A plan without restricted steps asks for nothing.
    let plan = journal.plan(&journal.targets(&[("cluster.chime", "off")])).unwrap();
    assert!(acknowledge(&plan, &[]).is_ok());
}
