//! Files a reading and two changes in a journal in memory, then plans how to take the first change back.
#![allow(clippy::print_stdout, reason = "an example prints what it finds")]

use std::error::Error;

use asfound_capture::file::parse_reading;
use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{Author, Body, ReadingRole, Reason, Vehicle};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::{Field, History};
use asfound_core::plan::{PutBackWish, Targets, Write, acknowledge, plan, put_back};
use asfound_journal::journal::{EntryDraft, EntryRandomness, Journal, Snapshot};
use asfound_journal::store::MemoryStore;
use time::macros::datetime;

const DEFINITION: &str = r#"
format = "asfound-definition/1"
id = "example-body"
title = "An invented body module"
[applies_to]
module = "body"
[records.0D01]
label = "Comfort functions"
length = 1
[settings.lane_change_flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 0
bits = 3
type = "integer"
tags = ["lighting"]
[settings.lock_by_horn]
label = "Horn on locking"
record = "0D01"
byte = 0
bit = 3
bits = 1
type = "switch"
tags = ["audible"]
"#;

const READING: &str = r#"
format = "asfound-reading/1"
[modules.body]
records = { "0D01" = "03" }
"#;

fn draft(body: Body, why: &str) -> Result<EntryDraft, Box<dyn Error>> {
    let at = datetime!(2026-03-14 09:20 +1);
    Ok(EntryDraft {
        recorded: at,
        happened: at,
        precision: asfound_core::moment::Precision::Second,
        author: Author::new("bench 2", None)?,
        why: Reason::try_from(why.to_owned())?,
        body,
        evidence: Vec::new(),
        // A program takes these from the system's source of chance.
        chance: EntryRandomness { entry: [1; 16], vehicle: [2; 16], blind: [3; 32] },
    })
}

fn change(before: &Snapshot, setting: &str, value: &str) -> Result<EntryDraft, Box<dyn Error>> {
    let path = setting.parse()?;
    let definition = before.definitions.iter().next().ok_or("there is one definition")?;
    let value = definition
        .setting(&"lane_change_flashes".parse()?)
        .into_iter()
        .chain(definition.setting(&"lock_by_horn".parse()?))
        .find(|setting| *setting.path() == path)
        .ok_or("the definition has it")?
        .parse_value(value)?;
    let mut targets = Targets::new();
    targets.choose(Field::Setting(path), value);
    let plan = plan(&before.history, before.definitions, &targets)?;
    draft(Body::Change(acknowledge(&plan, &[])?.work()), "the owner wants it")
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut definitions = DefinitionSet::new();
    definitions.add(Definition::parse(DEFINITION)?.definition)?;
    let store = MemoryStore::new();
    let journal = Journal::new(&store, "wren".parse()?);
    let filed = |outcome: Result<_, asfound_journal::journal::FileError<Box<dyn Error>>>| {
        outcome.map_err(|error| format!("{error:?}"))
    };

    let enrolled = datetime!(2026-03-14 09:00 +1);
    filed(journal.file(&definitions, |_| {
        draft(Body::Enrolled(Vehicle { tag: "wren".parse()?, vin: None, about: None, enrolled }), "journal started")
    }))?;
    filed(journal.file(&definitions, |before| {
        let terms = ReadingTerms { role: ReadingRole::AsFound, partial: false, recorded: enrolled };
        let reading = parse_reading(READING.as_bytes())?;
        let examined = examine(&reading, before.history.state(), before.definitions, terms);
        draft(Body::Reading(examined.map_err(|problems| format!("{problems:?}"))?.body), "before work")
    }))?;
    filed(journal.file(&definitions, |before| change(before, "body.lane_change_flashes", "5")))?;
    let last = filed(journal.file(&definitions, |before| change(before, "body.lock_by_horn", "on")))?;
    println!("{} entries", last.entry.number);

    let wish = PutBackWish { entries: ["3".parse()?].into(), ..PutBackWish::default() };
    let history: &History = &last.history;
    let plan = plan(history, &definitions, &put_back(history, &wish)?)?;
    for step in &plan.steps {
        if let Write::Record { record, expect, write, .. } = &step.write {
            println!("{} record {record}: expect {expect}, write {write}", step.module);
            assert_eq!(
                (expect.as_slice(), write.as_slice()),
                ([0x0D].as_slice(), [0x0B].as_slice()),
                "the horn stays on"
            );
        }
    }
    Ok(())
}

#[test]
fn runs() -> Result<(), Box<dyn Error>> {
    main()
}
