//! A step in doubt stays in doubt until the record is read, whatever else is filed.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use asfound_core::entry::{Body, StepOutcome, StepReport, WorkBody};
use asfound_core::plan::{PlanRefusal, Targets};
use support::*;
use time::Duration;

fn journal() -> Journal {
    let mut journal = Journal::new([BODY_1, CLUSTER]);
    journal.read(
        reading()
            .module("body")
            .software("0100")
            .record("0D01", "43 01 99 44")
            .record("0D02", "03 A0")
            .module("cluster")
            .record("3B01", "31")
            .module("radio")
            .value("bass", "3"),
    );
    journal
}

fn step(place: &str, outcome: StepOutcome) -> StepReport {
    let (module, record, setting) = match place.split_once(':') {
        Some((module, record)) => (module, Some(record.parse().unwrap()), None),
        None => {
            let (module, setting) = place.split_once('.').unwrap();
            (module, None, Some(setting.parse().unwrap()))
        }
    };
    let module = module.parse().unwrap();
    StepReport { module, record, setting, outcome, found: None, write: None, answer: None, read_back: None }
}

fn walked(journal: &mut Journal, place: &str, outcome: StepOutcome) -> u32 {
    let steps = vec![step(place, outcome)];
    journal.file(Body::Change(WorkBody { steps, run: Some(1), ..WorkBody::default() })).get()
}

fn open(journal: &Journal) -> Vec<(String, u32)> {
    let history = journal.history();
    history.open_steps().open().map(|open| (open.place.to_string(), open.entry.get())).collect()
}

fn whole() -> Said {
    reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0")
}

#[test]
fn only_a_reading_of_the_record_answers() {
    for outcome in [StepOutcome::InDoubt, StepOutcome::ReadBackOtherwise] {
        let mut journal = journal();
        let walked = walked(&mut journal, "body:0D01", outcome);
        let left_open = [("body:0D01".to_owned(), walked)];
        assert_eq!(open(&journal), left_open);
        // Of another record, of another module, and a note.
        journal.read(reading().module("body").software("0100").record("0D02", "03 A0"));
        journal.read(reading().module("cluster").record("3B01", "31"));
        journal.file(Body::Note(None));
        assert_eq!(open(&journal), left_open);
        journal.read(whole());
        assert_eq!(open(&journal), []);
    }
    for outcome in [StepOutcome::NotMade, StepOutcome::Made, StepOutcome::ReadBackAsWanted] {
        let mut journal = journal();
        walked(&mut journal, "body:0D01", outcome);
        assert_eq!(open(&journal), []);
    }
}

#[test]
fn a_reading_that_was_taken_before_the_work_does_not_answer() {
    let mut journal = journal();
    let walked = walked(&mut journal, "body:0D01", StepOutcome::InDoubt);
    journal.read(whole());
    let work = journal.entries[usize::try_from(walked).unwrap() - 1].happened;
    journal.entries.last_mut().unwrap().happened = work - Duration::minutes(1);
    assert_eq!(open(&journal), [("body:0D01".to_owned(), walked)]);
    journal.read(whole());
    assert_eq!(open(&journal), []);
}

#[test]
fn a_later_step_that_is_known_to_be_made_answers_too() {
    let mut journal = journal();
    walked(&mut journal, "body:0D01", StepOutcome::InDoubt);
    let again = walked(&mut journal, "body:0D01", StepOutcome::InDoubt);
    assert_eq!(open(&journal), [("body:0D01".to_owned(), again)]);
    walked(&mut journal, "body:0D01", StepOutcome::NotMade);
    assert_eq!(open(&journal).len(), 1);
    walked(&mut journal, "body:0D01", StepOutcome::ReadBackAsWanted);
    assert_eq!(open(&journal), []);
}

#[test]
fn a_setting_by_name_is_answered_by_its_value() {
    let mut journal = journal();
    walked(&mut journal, "radio.bass", StepOutcome::InDoubt);
    journal.read(reading().module("radio").value("treble", "3"));
    assert_eq!(open(&journal).len(), 1);
    journal.read(reading().module("radio").value("bass", "3"));
    assert_eq!(open(&journal), []);
}

#[test]
fn nothing_is_planned_on_bytes_that_nobody_knows() {
    let mut journal = journal();
    let change = journal.change(&[("body.fold", "on")]);
    let walked = walked(&mut journal, "body:0D01", StepOutcome::InDoubt);
    let in_doubt = |refused: PlanRefusal| match &refused {
        PlanRefusal::InDoubt(open) => {
            assert_eq!(open.iter().map(|open| open.entry.get()).collect::<Vec<_>>(), [walked]);
            assert!(refused.to_string().contains("body:0D01 (in doubt in entry"), "{refused}");
            assert!(refused.hint().unwrap().contains("asfound read"));
        }
        other => panic!("{other}"),
    };
    in_doubt(journal.plan(&journal.targets(&[("body.flashes", "5")])).unwrap_err());
    in_doubt(journal.plan(&journal.targets(&[("body.fold", "on")])).unwrap_err());
    in_doubt(journal.put_back_plan(&[change]).unwrap_err());
    in_doubt(journal.return_to_plan(2).unwrap_err());
    // What the journal takes to be there already may not be there.
    let fold = journal.state().record(&"body".parse().unwrap(), &"0D01".parse().unwrap()).unwrap().bytes.clone();
    let mut targets = Targets::new();
    targets.choose_record("body".parse().unwrap(), "0D01".parse().unwrap(), fold);
    in_doubt(journal.plan(&targets).unwrap_err());
    // Elsewhere work goes on.
    assert!(journal.plan(&journal.targets(&[("body.speed", "20")])).is_ok());
    // A walk reads first.
    let mut targets = journal.targets(&[("body.flashes", "5")]);
    targets.read_open_steps_first();
    assert!(journal.plan(&targets).is_ok());
    journal.read(whole());
    assert!(journal.plan(&journal.targets(&[("body.fold", "on")])).is_ok());
}

/// Who writes a record writes every setting in it, also one that was to be set by name.
#[test]
fn a_setting_in_doubt_keeps_its_record_in_doubt() {
    let mut journal = journal();
    walked(&mut journal, "body.fold", StepOutcome::InDoubt);
    let refused =
        |wanted: &[(&str, &str)]| matches!(journal.plan(&journal.targets(wanted)), Err(PlanRefusal::InDoubt(_)));
    let record = |setting: &str| {
        let (path, identity) = (path(setting), journal.state().identity(&"body".parse().unwrap()));
        journal.definitions.setting(&path, &identity).unwrap().unwrap().record().clone()
    };
    assert_eq!(record("body.fold"), record("body.flashes"));
    assert!(refused(&[("body.flashes", "5")]));
    assert!(!refused(&[("cluster.chime", "off")]));
}
