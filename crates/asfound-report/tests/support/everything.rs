//! A journal in which everything happens that a sheet can tell of.

use asfound_core::entry::{Body, Correction, Effects, ReadingRole, Reason, StepOutcome, StepReport, WorkBody};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::trouble_code::{CodeStatus, FreezeFrame, ReportedCode};

use super::{Journal, Texts, number};

/// Everything that a sheet can say, in one journal: an order with what is done, not done, done without authority, by another
/// hand; a unit that was replaced; codes in every standing with all that a module stores; steps in every outcome; a correction;
/// a partial reading, records that are refused, only volatile and not read.
pub fn everything(texts: &Texts) -> Journal {
    let mut journal = Journal::new(texts);
    let module = |name: &str| -> asfound_core::names::ModuleName { name.parse().expect("a module") };
    let record = |name: &str| -> asfound_core::names::RecordName { name.parse().expect("a record") };
    let code = |code: &str, status: u8, count: u32| ReportedCode {
        occurrences: Some(count),
        odometer_km: Some(84_000),
        freeze_frame: Some(FreezeFrame {
            raw: Some("01 02".parse().expect("bytes")),
            values: [("speed".parse().expect("a name"), texts.value.clone())].into(),
        }),
        ..ReportedCode::new(code.parse().expect("a code"), Some(CodeStatus(status)))
    };
    let fill = |reading: &mut Reading, left: bool| {
        reading.modules.get_mut(&module("body")).expect("it was put in").trouble_codes = Some(if left {
            vec![code("B1A01-12", 0xF8, 3), code("B1A02-12", 0x0F, 1)]
        } else {
            vec![code("B1A01-12", 0x2F, 2), code("B1A03-12", 0x50, 1)]
        });
        let cluster = reading.modules.get_mut(&module("cluster")).expect("it was put in");
        cluster.identity.serial = Some(if left { "S-2" } else { "S-1" }.to_owned());
        cluster.refused.insert(record("2A01"));
        if !left {
            cluster.trouble_codes = Some(vec![code("U0100", 0x81, 1)]);
            cluster.records.insert(record("2A02"), "01".parse().expect("bytes"));
        }
        let mut radio = ModuleReading { trouble_codes: Some(Vec::new()), ..ModuleReading::default() };
        radio.settings.insert("stations".parse().expect("a setting"), "on".to_owned());
        reading.modules.insert(module("radio"), radio);
    };
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02 03 04"), |reading| fill(reading, false));
    journal.order(&[("body.flashes", "5"), ("body.fold", "off"), ("cluster", "unit"), ("radio", "unit")]);
    let change = journal.change("flashes", "5");
    journal.change("fold", "on");
    journal.note();
    let outcomes = [StepOutcome::NotMade, StepOutcome::InDoubt, StepOutcome::ReadBackOtherwise];
    let steps = outcomes.map(|outcome| StepReport {
        module: module("body"),
        record: Some(record("0D01")),
        setting: None,
        outcome,
        found: None,
        write: None,
        answer: None,
        read_back: None,
    });
    let words = texts.why.clone();
    journal.file(Body::Change(WorkBody { steps: steps.to_vec(), ..WorkBody::default() }), &words);
    let reason = Reason::try_from(words.clone()).expect("a reason");
    let correction = Correction {
        corrects: number(change),
        never_made: false,
        was: std::collections::BTreeMap::new(),
        words: Some(reason),
        effects: Effects::default(),
        happened: None,
        precision: asfound_core::moment::Precision::Second,
    };
    journal.file(Body::Correction(correction), &words);
    journal.read(ReadingRole::AsLeft, "8D 41 7F", Some("01 02 03 05"), |reading| fill(reading, true));
    if let Some(Body::Reading(reading)) = journal.entries.last_mut().map(|entry| &mut entry.body) {
        reading.partial = true;
    }
    journal.file(Body::Note(None), &words);
    journal.file(Body::OrderClosed("A-17".parse().expect("a number")), "order A-17 done");
    journal
}
