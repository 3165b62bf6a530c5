//! One step, one thing that happens to it: what is asked next, and what the entry says.

use std::collections::BTreeSet;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::StepOutcome;
use asfound_core::history::Field;
use asfound_core::names::SettingPath;
use asfound_core::plan::{
    ChangeWish, Event, GuidedRun, GuidedRunError, NextAction, SavedPlan, SavedStep, StatedContent, Targets, Wish, plan,
};
use asfound_core::value::BitMask;
use time::OffsetDateTime;

use crate::garage::{Garage, path, record, value};

fn bytes(text: &str) -> StatedContent {
    StatedContent::Bytes(text.parse().unwrap())
}

/// A plan that sets `body.flashes` from 3 to 5 and `cluster.sweep` on: records 0D01, whose byte 2 counts by itself, and 0C01.
fn two_steps() -> (Garage, SavedPlan) {
    let (garage, _) = Garage::with_vehicle();
    let values = [value(0, 5), value(4, 1)];
    let mut targets = Targets::new();
    for (path, value, _) in &values {
        targets.choose(Field::Setting(path.clone()), value.clone());
    }
    let history = garage.history();
    let plan = plan(&history, &garage.definitions, &targets).unwrap();
    let settings = values.into_iter().map(|(path, _, text)| (path, text)).collect();
    let wish = Wish::Change(ChangeWish { settings, ..ChangeWish::default() });
    let id = "00112233aabbccdd".parse().unwrap();
    let head = ("wren".parse().unwrap(), OffsetDateTime::UNIX_EPOCH);
    let mut saved = SavedPlan::new(head, wish, Vec::new(), (&targets, &plan));
    saved.id = id;
    assert_eq!(
        saved.steps.iter().map(SavedStep::place).collect::<Vec<_>>(),
        [record("body", "0D01"), record("cluster", "0C01")]
    );
    (garage, saved)
}

fn after(events: &[Event]) -> GuidedRun {
    let (_, saved) = two_steps();
    GuidedRun::replay(saved.steps, &BTreeSet::new(), events).unwrap()
}

const WANTED: &str = "05 A2 11 A7";
const FOUND: &str = "03 A2 11 A5";

#[test]
fn a_step_that_goes_well() {
    let mut walk = after(&[]);
    assert_eq!(walk.next(), NextAction::Look(1));
    // The counter has gone on from 11 to 1F; it is written as it was found.
    walk.apply(&Event::Found(1, bytes("03 A2 1F A5"))).unwrap();
    assert_eq!(walk.next(), NextAction::Write(1, bytes("05 A2 1F A7")));
    walk.apply(&Event::Asked(1)).unwrap();
    assert_eq!(walk.next(), NextAction::Answer(1));
    walk.apply(&Event::Written(1)).unwrap();
    assert_eq!(walk.next(), NextAction::ReadBack(1));
    walk.apply(&Event::ReadBack(1, bytes("05 A2 20 A7"))).unwrap();
    assert_eq!(walk.next(), NextAction::Look(2));
    assert_eq!(walk.outcomes()[0].outcome, StepOutcome::ReadBackAsWanted);
}

#[test]
fn what_is_found_must_be_expected() {
    let walk = after(&[Event::Found(1, bytes("03 A3 11 A6"))]);
    let NextAction::Unexpected(1, unlike) = walk.next() else { panic!("{:?}", walk.next()) };
    assert_eq!(unlike.to_string(), "03 A3 11 A6 instead of 03 A2 11 A5 (differs in byte 1 bit 0, byte 3 bits 0-1)");
    // What is wanted is not what is expected either: somebody else was there.
    let walk = after(&[Event::Found(1, bytes(WANTED))]);
    assert!(matches!(walk.next(), NextAction::Unexpected(1, _)));
    assert!(!walk.has_something_to_tell());
}

#[test]
fn events_fit_or_are_refused() {
    let mut walk = after(&[]);
    assert_eq!(walk.apply(&Event::Found(2, bytes("10"))), Err(GuidedRunError::OtherStep { told: 2, at: 1 }));
    for event in [Event::Asked(1), Event::Written(1), Event::ReadBack(1, bytes(FOUND)), Event::NotRead(1)] {
        assert!(matches!(walk.apply(&event), Err(GuidedRunError::NotAwaited { .. })), "{event}");
    }
    walk.apply(&Event::Stopped).unwrap();
    assert_eq!(walk.next(), NextAction::File);
    assert_eq!(walk.apply(&Event::Found(1, bytes(FOUND))), Err(GuidedRunError::Over("found")));
    walk.apply(&Event::Ended).unwrap();
    assert_eq!((walk.next(), walk.apply(&Event::Stopped)), (NextAction::Over, Err(GuidedRunError::Over("stopped"))));
}

/// What the walk and its entry say after each way in which a write can end: the outcome of step 1, and the bytes that the
/// entry leaves in record 0D01, if any.
#[test]
fn ways_in_which_a_write_ends() {
    let look = || Event::Found(1, bytes(FOUND));
    let back = |text: &str| Event::ReadBack(1, bytes(text));
    let no_answer = || Event::NoAnswer(1, "dark".to_owned());
    let refused = || Event::Refused(1, "busy".to_owned());
    for (events, outcome, left) in [
        (vec![look()], StepOutcome::NotMade, None),
        (vec![look(), Event::Asked(1)], StepOutcome::InDoubt, None),
        (vec![look(), Event::Asked(1), Event::Written(1)], StepOutcome::Made, Some(WANTED)),
        (vec![look(), Event::Asked(1), Event::Written(1), Event::NotReadBack(1)], StepOutcome::Made, Some(WANTED)),
        (vec![look(), Event::Asked(1), refused()], StepOutcome::InDoubt, None),
        (vec![look(), Event::Asked(1), refused(), back(FOUND)], StepOutcome::NotMade, None),
        (vec![look(), Event::Asked(1), no_answer(), back(FOUND)], StepOutcome::InDoubt, None),
        (vec![look(), Event::Asked(1), no_answer(), back(WANTED)], StepOutcome::ReadBackAsWanted, Some(WANTED)),
        (vec![look(), Event::Asked(1), no_answer(), Event::NotReadBack(1)], StepOutcome::InDoubt, None),
        // Killed once it was asked: read first.
        (vec![look(), Event::Asked(1), back(FOUND)], StepOutcome::InDoubt, None),
        (vec![look(), Event::Asked(1), back("05 A2 11 A5")], StepOutcome::ReadBackOtherwise, Some("05 A2 11 A5")),
        // Stored wrongly, and an old answer.
        (
            vec![look(), Event::Asked(1), Event::Written(1), back("0D A2 11 AF")],
            StepOutcome::ReadBackOtherwise,
            Some("0D A2 11 AF"),
        ),
        (vec![look(), Event::Asked(1), Event::Written(1), back(FOUND)], StepOutcome::ReadBackOtherwise, None),
        (
            vec![look(), Event::Asked(1), Event::Written(1), back(FOUND), back(WANTED)],
            StepOutcome::ReadBackAsWanted,
            Some(WANTED),
        ),
    ] {
        let (garage, saved) = two_steps();
        let events: Vec<Event> = events.into_iter().chain([Event::Stopped]).collect();
        let walk = GuidedRun::replay(saved.steps.clone(), &BTreeSet::new(), &events).unwrap();
        assert_eq!(walk.next(), NextAction::File, "{events:?}");
        assert_eq!(walk.outcomes()[0].outcome, outcome, "{events:?}");
        assert_eq!(walk.has_something_to_tell(), outcome != StepOutcome::NotMade);
        let work = walk.work(&saved, 1, garage.history().state(), &garage.definitions).unwrap();
        let effects: Vec<String> = work.effects.records.iter().map(|effect| effect.left.to_string()).collect();
        assert_eq!(effects, left.into_iter().collect::<Vec<_>>(), "{events:?}");
        assert!(work.effects.records.iter().all(|effect| effect.found.as_ref().unwrap().to_string() == FOUND));
        let made = usize::from(outcome.is_made());
        assert_eq!(work.part_in_words(), Some(format!("{made} of 2 steps")));
    }
}

/// A module that stored something else may have altered settings that the plan never meant; the entry names them.
#[test]
fn the_entry_names_every_setting_that_was_altered() {
    let (garage, saved) = two_steps();
    let events = [
        Event::Found(1, bytes(FOUND)),
        Event::Asked(1),
        Event::Written(1),
        Event::ReadBack(1, bytes("0D A2 11 AF")),
        Event::Stopped,
    ];
    let walk = GuidedRun::replay(saved.steps.clone(), &BTreeSet::new(), &events).unwrap();
    let work = walk.work(&saved, 1, garage.history().state(), &garage.definitions).unwrap();
    assert_eq!(work.settings, [path("body.flashes"), path("body.horn")]);
    let none: Vec<SettingPath> = Vec::new();
    let work = after(&[]).work(&saved, 1, garage.history().state(), &DefinitionSet::new()).unwrap();
    assert_eq!(work.settings, none);
}

/// A reading that was filed while the walk was open is newer than what the walk wrote, and stands.
#[test]
fn a_later_reading_outweighs_the_walk() {
    let (mut garage, saved) = two_steps();
    let events = [Event::Found(1, bytes(FOUND)), Event::Asked(1), Event::Written(1), Event::NotReadBack(1)];
    let walk = GuidedRun::replay(saved.steps.clone(), &BTreeSet::new(), &events).unwrap();
    assert_eq!(walk.overtaken(garage.history().state(), &garage.definitions), None);
    let (_, mut vehicle) = Garage::with_vehicle();
    vehicle.put(record("cluster", "0C01"), bytes("12"), None);
    vehicle.put(record("body", "0D01"), bytes("05 A2 30 A7"), Some(2));
    garage.read(&vehicle);
    let history = garage.history();
    let overtaken = walk.overtaken(history.state(), &garage.definitions);
    assert_eq!(overtaken, Some((2, record("cluster", "0C01"))));
    let work = walk.work(&saved, 1, history.state(), &garage.definitions).unwrap();
    assert!(work.effects.is_empty() && work.steps[0].outcome == StepOutcome::Made);
    let moved = saved.moved(&garage.entries, &garage.definitions).unwrap();
    let fields: Vec<String> = moved.iter().map(|moved| format!("{} {}", moved.field, moved.entry)).collect();
    assert_eq!(fields, ["body.flashes 3"]);
}

#[test]
fn a_plan_knows_its_vehicle_and_its_journal() {
    let (mut garage, mut saved) = two_steps();
    let (_, vehicle) = Garage::with_vehicle();
    garage.read(&vehicle);
    assert_eq!(saved.moved(&garage.entries, &garage.definitions), Ok(Vec::new()), "it was all as it was known");
    saved.stands_on = "9".parse().unwrap();
    assert!(saved.moved(&garage.entries, &garage.definitions).is_err());
    saved.stands_on = "2".parse().unwrap();
    saved.vehicle = "plover".parse().unwrap();
    assert!(saved.moved(&garage.entries, &garage.definitions).is_err());
}

/// `plain` may stand only with the relay off, `linked` only with it on, `service` with both; nobody has read their records,
/// so that both are set by name, the mode twice.
const BY_NAME: &str = r#"
format = "asfound-definition/1"
id = "walk-trailer"
title = "Trailer module"
[applies_to]
module = "trailer"
[records.5A01]
label = "Lamps"
length = 2
[settings.mode]
label = "Mode"
record = "5A01"
byte = 0
type = "choice"
choices = { plain = 0, linked = 1, service = 2 }
tags = ["comfort"]
[settings.relay]
label = "Relay"
record = "5A01"
byte = 1
bits = 1
type = "switch"
tags = ["comfort"]
[[rules]]
name = "linked-needs-relay"
when = { mode = "linked" }
needs = { relay = "on" }
because = "Invented"
[[rules]]
name = "plain-needs-no-relay"
when = { mode = "plain" }
needs = { relay = "off" }
because = "Invented"
"#;

#[test]
fn a_setting_that_is_set_twice_by_name_is_one_alteration() {
    let (mut garage, mut vehicle) = Garage::with_vehicle();
    garage.definitions.add(asfound_core::definition::Definition::parse(BY_NAME).unwrap().definition).unwrap();
    for (setting, value) in [("trailer.mode", "plain"), ("trailer.relay", "off")] {
        vehicle.put(crate::garage::by_name(setting), StatedContent::Value(value.to_owned()), None);
    }
    garage.read(&vehicle);
    let wish = ChangeWish {
        settings: [("trailer.mode", "linked"), ("trailer.relay", "on")]
            .map(|(at, to)| (path(at), to.to_owned()))
            .into(),
        ..ChangeWish::default()
    };
    let history = garage.history();
    let mut targets = Targets::new();
    targets.choose(Field::Setting(path("trailer.mode")), asfound_core::value::Value::Choice("linked".to_owned()));
    targets.choose(Field::Setting(path("trailer.relay")), asfound_core::value::Value::Switch(true));
    let plan = plan(&history, &garage.definitions, &targets).unwrap();
    let head = ("wren".parse().unwrap(), OffsetDateTime::UNIX_EPOCH);
    let id = "00112233aabbccdd".parse().unwrap();
    let mut saved = SavedPlan::new(head, Wish::Change(wish), Vec::new(), (&targets, &plan));
    saved.id = id;
    let saved = SavedPlan::parse(saved.to_text().as_bytes()).unwrap();
    let said: Vec<String> = saved.steps.iter().map(|step| format!("{} {}", step.place(), step.wanted())).collect();
    assert_eq!(said, ["trailer.mode service", "trailer.relay on", "trailer.mode linked"]);
    assert_eq!(saved.steps[0].intermediate.as_ref().unwrap().for_a_time, ["mode".parse().unwrap()]);

    let mut events = Vec::new();
    for (made, effects) in [
        (1, vec!["mode plain service"]),
        (2, vec!["mode plain service", "relay off on"]),
        (3, vec!["mode plain linked", "relay off on"]),
    ] {
        let step = &saved.steps[made - 1];
        events.extend([Event::Found(made, step.expected().unwrap()), Event::Asked(made), Event::Written(made)]);
        events.push(Event::ReadBack(made, step.wanted()));
        let walk = GuidedRun::replay(saved.steps.clone(), &BTreeSet::new(), &events).unwrap();
        assert_eq!(walk.overtaken(history.state(), &garage.definitions), None);
        let work = walk.work(&saved, 1, history.state(), &garage.definitions).unwrap();
        let told = work.effects.stated.iter().map(|effect| {
            format!("{} {} {}", effect.setting, effect.found.as_ref().unwrap(), effect.left.as_ref().unwrap())
        });
        assert_eq!(told.collect::<Vec<_>>(), effects);
        assert_eq!(work.settings.len(), effects.len());
    }
}

#[test]
fn groups_of_bits_of_one_record_stand_together_in_a_plan_file() {
    let (_, mut saved) = two_steps();
    let bits = |record: &str, masks: &[u8]| -> Vec<Field> {
        let field = |mask: &u8| Field::Undeclared {
            module: "body".parse().unwrap(),
            record: record.parse().unwrap(),
            mask: BitMask::differing(&[0, *mask], &[0, 0]),
        };
        masks.iter().map(field).collect()
    };
    saved.fields = [bits("0D01", &[0x01, 0x02, 0x80]), bits("0D02", &[0x04])].concat();
    let text = saved.to_text();
    assert_eq!(SavedPlan::parse(text.as_bytes()).unwrap(), saved);
    assert_eq!(text.matches("[[fields.undeclared]]").count(), 2, "{text}");
    // One group may stand without brackets.
    let alone = text.replace("bits = [\"00 04\"]", "bits = \"00 04\"");
    assert_ne!(alone, text);
    assert_eq!(SavedPlan::parse(alone.as_bytes()).unwrap(), saved);
    for (wrong, problem) in [
        ("5", "fields.undeclared[2].bits: expected a list, found a whole number"),
        ("[\"00 04\", \"0x\"]", "fields.undeclared[2].bits[2]: "),
        ("\"0x\"", "fields.undeclared[2].bits: "),
    ] {
        let problems = SavedPlan::parse(text.replace("[\"00 04\"]", wrong).as_bytes()).unwrap_err().to_string();
        assert!(problems.contains(problem), "{wrong}: {problems}");
    }
}
