//! Every command's JSON, read back through the strict mirrors in `asfound_tests::json`.

use asfound_tests::Workshop;
use asfound_tests::json::{
    Comparison, CorrectionFiled, DefinitionCheck, Definitions, DefinitionsKept, Enrolled, Entries, Entry, Explained,
    Life, NoteFiled, Origin, PlanSheet, Proof, ReadingFiled, Settings, Standing, Vehicles, WorkFiled,
};
use serde_json::json;

#[test]
fn enrol_and_vehicles() {
    let mut shop = Workshop::new();
    let none: asfound_tests::json::Failure = shop.json_failure("vehicles");
    assert_eq!((none.exit, none.hint.is_some()), (2, true));
    let wren: Enrolled = shop.json("enrol wren --vin ZZ9WRENA9T2000017 --about 'grey estate'");
    assert_eq!((wren.garage_made, wren.entry, wren.vehicle.vin_check_digit_fits), (true, 1, Some(true)));
    let other: Enrolled = shop.json("enrol dunnock --vin ZZ9WRENA1T2000017");
    assert_eq!((other.garage_made, other.vehicle.vin_check_digit_fits), (false, Some(false)));
    let bare: Enrolled = shop.json("enrol avocet");
    assert_eq!((bare.vehicle.vin, bare.vehicle.vin_check_digit_fits, bare.vehicle.about), (None, None, None));
    let all: Vehicles = shop.json("vehicles");
    let tags: Vec<&str> = all.vehicles.iter().map(|vehicle| vehicle.tag.as_str()).collect();
    assert_eq!(tags, ["avocet", "dunnock", "wren"]);
    assert_eq!(all.vehicles[2].enrolled, "2026-03-14T09:15:00+01:00");
}

#[test]
fn read() {
    let mut shop = Workshop::equipped();
    let _ = shop.run("enrol wren").done();
    let first: ReadingFiled = shop.json("read wren ./as-found.toml");
    assert_eq!((first.entry.reading.role.as_str(), first.first_known, first.records_same), ("as-found", 8, None));
    assert_eq!(first.entry.happened, "2026-03-14T09:20:00+01:00");
    assert_eq!(first.entry.reading.supply_voltage.as_deref(), Some("12.6"));

    let hand: ReadingFiled = shop.json("read wren ./weeks-later.toml");
    let fields: Vec<&str> = hand.differences.iter().map(|difference| difference.field.as_str()).collect();
    assert_eq!(fields.len(), 6, "{fields:?}");
    assert_eq!(fields[0], "body.lane_change_flashes");
    assert!(fields[5].starts_with("body:0D01"), "undeclared bits come last: {fields:?}");
    let (bits, settings) = hand.differences.split_last().unwrap();
    assert!(settings.iter().all(|one| one.origin == Origin::AnotherHand { kind: "settings-altered".into() }));
    assert_eq!(bits.origin, Origin::CannotTell { doubt: "setting-or-measured".into() });
    assert_eq!(hand.differences[0].left.value, Some(json!(5)));
    assert_eq!((hand.records_same, hand.records_changed), (Some(2), Some(2)));

    let part: ReadingFiled = shop.json("read wren --value body.lane_change_flashes=5 --partial");
    let missing: Vec<(&str, Option<&str>)> =
        part.not_read.iter().map(|one| (one.module.as_str(), one.record.as_deref())).collect();
    assert_eq!(missing, [("body", Some("0D01")), ("body", Some("0D02")), ("brakes", None), ("cluster", None)]);
    assert!(part.entry.reading.partial);
}

#[test]
fn a_reading_that_proves_and_one_that_contradicts() {
    let mut shop = Workshop::after_work();
    let settings: Settings = shop.json("settings wren --altered");
    let standings: Vec<_> =
        settings.settings.iter().map(|line| (line.setting.as_str(), line.standing.clone())).collect();
    let by = |by| Some(Standing::Altered { by, proof: Proof { level: "read-back".into(), reading: Some(6) } });
    assert_eq!(
        standings,
        [("body.lane_change_flashes", by(3)), ("body.lock_at_speed", by(5)), ("body.lock_by_horn", by(4)),]
    );
    let _ = shop.run("change wren cluster.needle_sweep=on --why 'looks good'").done();
    shop.rewrite("as-left.toml", "again.toml", &[]);
    let against: ReadingFiled = shop.json("read wren ./again.toml --as left");
    assert_eq!(against.differences.len(), 1);
    assert_eq!(against.differences[0].origin, Origin::Contradiction { of: 7 });
    let settings: Settings = shop.json("settings wren --module cluster");
    assert_eq!(settings.settings[0].standing, Some(Standing::Contradiction { of: 7, seen: 8 }));
    let life: Life = shop.json("entries wren cluster.needle_sweep");
    let proofs: Vec<_> = life.steps.iter().map(|step| step.proof.as_ref().map(|proof| proof.level.as_str())).collect();
    assert_eq!(proofs, [None, Some("contradicted"), None]);
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[6].proof, [Proof { level: "contradicted".into(), reading: Some(8) }]);
}

#[test]
fn change_and_its_preview() {
    let mut shop = Workshop::with_wren();
    let tip = shop.tip("wren");
    let sheet: PlanSheet = shop.json("change wren body.lane_change_flashes=5 --preview");
    assert_eq!((sheet.aim.as_str(), sheet.plan.stands_on, sheet.plan.steps.len()), ("change", 2, 1));
    let step = &sheet.plan.steps[0];
    assert_eq!((step.address.as_deref(), step.class.as_str()), (Some("0x0E"), "caution"));
    assert_eq!(step.write.expect.as_deref(), Some("13 03 40 56"));
    assert_eq!(step.write.write, "15 03 40 58");
    assert_eq!(shop.tip("wren"), tip, "a preview files nothing");

    let filed: WorkFiled = shop.json("change wren body.lane_change_flashes=5 --why 'owner wants five'");
    assert_eq!(filed.plan, sheet.plan, "what is carried out is what was shown");
    assert_eq!((filed.entry.number, filed.entry.kind.as_str(), filed.one_way), (3, "change", false));
    assert_eq!(filed.proof, Proof { level: "stated".into(), reading: None });
    assert_eq!(filed.acknowledgements, Some(Vec::new()));

    let blind: WorkFiled = shop.json("change wren cluster:0C09='01 02' --one-way --why 'from the notes'");
    assert!(blind.one_way);
    assert_eq!(blind.plan.steps[0].write.expect, None);
    let by_name: WorkFiled = shop.json("change wren radio.volume=3 --was 5 --why louder");
    assert_eq!(by_name.plan.steps[0].write.setting.as_deref(), Some("volume"));
    assert_eq!(by_name.plan.steps[0].write.record, None);
    let settings: Settings = shop.json("settings wren");
    let unexplained: Vec<_> =
        settings.records_unexplained.iter().map(|one| format!("{} {}", one.module, one.record)).collect();
    assert_eq!(unexplained, ["cluster 0C09"]);
}

#[test]
fn put_back_and_return_to() {
    let mut shop = Workshop::after_another_hand();
    let sheet: PlanSheet = shop.json("put-back wren 4");
    assert_eq!(sheet.aim, "put back entry 4");
    assert_eq!(sheet.plan.steps[0].settings[0].left.value, Some(json!(false)));
    let filed: WorkFiled = shop.json("put-back wren 4 --done --sheet CODE --why 'neighbours complain'");
    assert_eq!((filed.entry.kind.as_str(), filed.entry.number), ("put-back", 8));
    let sheet: PlanSheet = shop.json("return-to wren 2");
    assert_eq!(sheet.plan.settled, ["body.lock_by_horn"]);
    assert_eq!(sheet.plan.steps.len(), 2);
    assert_eq!(sheet.plan.steps[0].undeclared_bits, "byte 2 bit 0");
    let filed: WorkFiled = shop.json("return-to wren 2 --done --sheet CODE --why sold");
    assert_eq!(filed.entry.number, 9);
}

#[test]
fn entries_and_one_of_each_kind() {
    let mut shop = Workshop::after_put_back();
    shop.write("consent.txt", "yes\n");
    let _ = shop.run("note wren 'owner agreed by phone' --on 4 --attach ./consent.txt").done();
    let _ = shop.run("correct wren 8 body.lock_by_horn=on --why 'it did not take'").done();
    let list: Entries = shop.json("entries wren");
    let kinds: Vec<&str> = list.entries.iter().map(|entry| entry.kind.as_str()).collect();
    assert_eq!(
        kinds,
        ["enrolled", "reading", "change", "change", "change", "reading", "reading", "put-back", "note", "correction"]
    );
    assert_eq!(list.entries[7].corrected_by, [10]);
    for (line, number) in list.entries.iter().zip(1..) {
        let entry: Entry = shop.json(&format!("entry wren {number}"));
        assert_eq!((entry.entry.kind.as_str(), entry.commit.len()), (line.kind.as_str(), 40));
        assert_eq!(entry.reading.is_some(), line.kind == "reading");
        assert_eq!(entry.effects.is_some(), !["enrolled", "note"].contains(&line.kind.as_str()), "{number}");
        assert_eq!(entry.as_filed.is_empty(), number != 8);
        assert_eq!(entry.corrects.is_empty(), number != 10);
    }
    let reading: Entry = shop.json("entry wren 2");
    let covered = reading.reading.expect("it is a reading").covered;
    assert_eq!(covered["body"].records, ["0D01", "0D02"]);
    assert_eq!(covered["cluster"].refused, ["0C02"]);
    assert_eq!(covered["brakes"].trouble_codes.as_deref().map(<[_]>::len), Some(1));
    assert_eq!((covered["body"].trouble_codes.as_ref(), reading.first_known), (None, 8));
    let note: Entry = shop.json("entry wren 9");
    assert_eq!((note.evidence[0].name.as_str(), note.evidence[0].bytes), ("consent.txt", 4));
    // Published nowhere: `printf 'yes\n' | sha256sum` of GNU coreutils 9.1 says so.
    assert_eq!(note.evidence[0].sha256, "5040625b1fb6fa4af07226683f6e6003b29e5e70b16f8cfb24be7a752393f0ee");
}

#[test]
fn note_and_correct() {
    let mut shop = Workshop::after_work();
    let note: NoteFiled = shop.json("note wren 'horn sounds hoarse' --on 4");
    assert_eq!((note.entry.number, note.entry.headline.as_str()), (7, "note on entry 4: horn sounds hoarse"));
    let words: CorrectionFiled =
        shop.json("correct wren 7 --words 'horn sounds hoarse when cold' --why 'left out half'");
    assert_eq!(words.words.expect("it is about words").said, "horn sounds hoarse");
    let noted: Entry = shop.json("entry wren 7");
    assert_eq!(noted.entry.corrected_words.as_deref(), Some("horn sounds hoarse when cold"));
    assert_eq!(noted.entry.why, "horn sounds hoarse", "the entry itself says what it said");
    let _ = shop.run("change wren body.lane_change_flashes=4 --why 'five are too many'").done();
    let corrected: CorrectionFiled = shop.json("correct wren 9 body.lane_change_flashes=2 --why 'typed 4, made 2'");
    assert_eq!((corrected.corrects, corrected.never_made), (Some(9), false));
    assert_eq!(corrected.settings[0].said.as_deref(), Some("5 -> 4"));
    assert_eq!(corrected.settings[0].is, "5 -> 2");
    let never: CorrectionFiled = shop.json("correct wren 9 --never-made --why 'was the other car'");
    assert_eq!((never.never_made, never.settings[0].is.as_str()), (true, "5"));
}

#[test]
fn compare() {
    let mut shop = Workshop::after_put_back();
    let two: Comparison = shop.json("compare wren 2 7");
    assert_eq!((two.found.as_str(), two.left.as_str(), two.same), ("entry 2", "entry 7", false));
    let body = &two.modules[0];
    assert_eq!(body.definition_left.as_deref(), Some("aviary-body-1"));
    let verdicts: Vec<_> =
        body.records.iter().map(|record| (record.record.as_str(), record.verdict.as_str())).collect();
    assert_eq!(verdicts, [("0D01", "changed"), ("0D02", "same")]);
    assert_eq!((body.records[1].bytes_compared, body.records[1].bytes_volatile), (1, 2));
    assert_eq!(body.records[0].undeclared_bits, "byte 2 bit 0");
    let _ = shop.run("enrol plover").done();
    let cars: Comparison = shop.json("compare wren plover");
    assert_eq!((cars.found.as_str(), cars.left.as_str()), ("wren", "plover"));
    assert!(
        cars.modules
            .iter()
            .flat_map(|module| &module.records)
            .all(|r| ["not-read", "refused"].contains(&r.verdict.as_str()))
    );
    let same: Comparison = shop.json("compare wren 5 6 --expect-same");
    assert!(same.same);
}

#[test]
fn explain_and_definitions() {
    let mut shop = Workshop::equipped();
    let kept: DefinitionsKept = shop.json("definition keep ./body-1.toml");
    assert_eq!(kept.kept[0].id, "aviary-body-1");
    assert!(kept.kept[0].file.ends_with("garage/definitions/aviary-body-1.toml"), "{kept:?}");
    let list: Definitions = shop.json("definition list");
    let lines: Vec<_> = list.definitions.iter().map(|one| (one.id.as_str(), one.settings, one.rules)).collect();
    assert_eq!(
        lines,
        [("aviary-body-1", 6, 1), ("aviary-body-2", 7, 0), ("aviary-brakes-1", 1, 0), ("aviary-cluster-1", 1, 0),]
    );
    let good: DefinitionCheck = shop.json("definition check ./body-1.toml ./body-2.toml");
    assert!(good.files.len() == 2 && good.files.iter().all(|file| file.problems.is_empty()), "{good:?}");
    let found: Explained = shop.json("explain relock");
    let lines: Vec<_> = found.settings.iter().map(|one| (one.definition.as_str(), one.setting.as_str())).collect();
    assert_eq!(lines, [("aviary-body-1", "body.relock_delay"), ("aviary-body-2", "body.relock_delay")]);
    assert_eq!(found.settings[0].choices, ["short", "long"]);
    let one: Explained = shop.json("explain brakes.hill_hold");
    assert_eq!((one.settings[0].class.as_str(), one.settings[0].factory.as_deref()), ("restricted", Some("on")));
}

#[test]
fn problems_of_a_definition() {
    let mut shop = Workshop::equipped();
    shop.rewrite("body-1.toml", "wrong.toml", &[("bits = 3\n", "bits = 3\nbitts = 4\n"), ("max = 5", "max = 9")]);
    let ran = shop.run("definition check ./wrong.toml --json");
    assert_eq!(ran.exit, 1);
    let check: DefinitionCheck = serde_json::from_str(&ran.out).unwrap();
    let places: Vec<_> = check.files[0].problems.iter().map(|one| (one.line, one.at.as_str())).collect();
    assert_eq!(
        places,
        [(Some(28), "settings.lane_change_flashes.bitts"), (Some(30), "settings.lane_change_flashes.range.max"),]
    );
}

#[test]
fn failures_are_told_in_json_too() {
    let mut shop = Workshop::with_wren();
    let unknown = shop.json_failure("entry wren 9");
    assert_eq!((unknown.exit, unknown.message.as_str()), (2, "the journal of `wren` has no entry 9: its last is 2"));
    assert!(unknown.hint.is_some());
    let refused = shop.json_failure("change wren brakes.hill_hold=off --why quieter");
    assert_eq!(refused.exit, 3);
    let usage = shop.json_failure("enrol lark --vin 1M8GDM9AXKP0427OI");
    assert_eq!(usage.exit, 2);
    assert!(usage.message.contains("character 16 of the VIN is `O`"), "{usage:?}");
    let tip = shop.json_failure("entires wren");
    assert!(tip.hint.as_deref().is_some_and(|hint| hint.contains("entries")), "{tip:?}");
}
