//! Histories of a vehicle whose modules come back with another serial or software, and are read in part.

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{Author, Body, Correction, ReadingRole, Reason, Vehicle};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::History;
use asfound_core::identity::Identity;
use asfound_core::moment::Precision;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, Tag};
use asfound_core::plan::{Targets, acknowledge, corrected, plan};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::value::HexBytes;
use asfound_journal::journal::{EntryDraft, EntryRandomness, FileError, Journal, JournalError};
use asfound_journal::store::Store;
use proptest::prelude::*;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

/// Every kind of place, coding, type and conversion. With other software the settings lie elsewhere.
const OLD: &str = include_str!("body-1.toml");
const NEW: &str = include_str!("body-2.toml");

const START: OffsetDateTime = datetime!(2026-03-14 09:20 +1);
const SOFTWARE: [Option<&str>; 5] = [None, Some("0110"), Some("0150"), Some("0210"), Some("110")];
const SERIALS: [Option<&str>; 4] = [None, Some("S1"), Some("S2"), Some("S3")];
/// The last is one that no definition names.
const RECORDS: [&str; 3] = ["0D01", "0D02", "0C01"];
/// Contents by record. The third of each means nothing in some of its settings.
const CONTENTS: [[&str; 4]; 3] = [
    ["0A 1C 00 12 05 41 42 00", "0B 1C 01 13 85 41 20 00", "FF FF FF AF FF FF 00 41", "00 00 00 00 00 00 00 00"],
    ["07 08 41 00 01 90", "83 01 41 42 FE 10", "FF 0A 01 41 7F FF", "00 00 00 00 00 00"],
    ["01", "02", "FF FF", "00"],
];

/// What happens next.
#[derive(Debug, Clone)]
pub(crate) enum Event {
    /// A module was read so many hours before this is filed: software, serial, of each record which content or that it was
    /// refused, and a setting by value.
    Read { ago: i64, software: usize, serial: usize, records: [Option<Said>; 3], value: Option<usize> },
    /// Somebody notes a change, or (`corrects`) that it was otherwise.
    Write { record: usize, content: usize, corrects: bool },
    /// Somebody notes something.
    Note,
}

/// What a module says when it is asked for a record.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Said {
    Content(usize),
    Refused,
}

pub(crate) fn events(most: usize) -> impl Strategy<Value = Vec<Event>> {
    let said = || prop_oneof![6 => (0..4_usize).prop_map(Said::Content), 1 => Just(Said::Refused)];
    let record = || prop::option::weighted(0.6, said());
    let ago = prop_oneof![3 => Just(0_i64), 1 => 1..9_i64];
    let value = prop::option::weighted(0.2, 0..6_usize);
    let read = (ago, 0..SOFTWARE.len(), 0..SERIALS.len(), [record(), record(), record()], value);
    let event = prop_oneof![
        6 => read.prop_map(|(ago, software, serial, records, value)| Event::Read { ago, software, serial, records, value }),
        2 => (0..3_usize, 0..4_usize, prop::bool::weighted(0.4))
            .prop_map(|(record, content, corrects)| Event::Write { record, content, corrects }),
        1 => Just(Event::Note),
    ];
    prop::collection::vec(event, 1..most)
}

pub(crate) fn definitions() -> DefinitionSet {
    let mut definitions = DefinitionSet::new();
    for text in [OLD, NEW] {
        definitions.add(Definition::parse(text).unwrap().definition).unwrap();
    }
    definitions
}

fn module() -> ModuleName {
    "body".parse().unwrap()
}

fn record(at: usize) -> RecordName {
    RECORDS[at].parse().unwrap()
}

fn content(record: usize, at: usize) -> HexBytes {
    CONTENTS[record][at].parse().unwrap()
}

/// Files the events that can be filed, as the program does; how many entries there are then.
pub(crate) fn file(store: &impl Store, tag: &Tag, events: &[Event]) -> usize {
    let definitions = definitions();
    let journal = Journal::new(store, tag.clone());
    let vehicle = Vehicle { tag: tag.clone(), vin: None, about: None, enrolled: START };
    let enrolled = |_: &History| Some(Body::Enrolled(vehicle.clone()));
    assert!(file_one(&journal, &definitions, 0, 0, enrolled));
    let filed = (1..).zip(events).filter(|(hours, event)| {
        let ago = if let Event::Read { ago, .. } = event { *ago } else { 0 };
        file_one(&journal, &definitions, *hours, ago, |history| body(event, *hours, history, &definitions))
    });
    1 + filed.count()
}

/// Whether there was anything to file.
fn file_one<S: Store>(
    journal: &Journal<'_, S>,
    definitions: &DefinitionSet,
    hours: i64,
    ago: i64,
    body: impl Fn(&History) -> Option<Body>,
) -> bool {
    let at = moment(hours);
    let mark = u8::try_from(hours & 0x7F).unwrap();
    let filed = journal.file(definitions, |before| {
        Ok(EntryDraft {
            recorded: at,
            happened: moment(hours - ago),
            precision: Precision::Second,
            author: Author::new("Edda Brandt", None).unwrap(),
            why: Reason::try_from(format!("hour {hours}")).unwrap(),
            body: body(&before.history).ok_or(())?,
            evidence: Vec::new(),
            chance: EntryRandomness { entry: [mark; 16], vehicle: [mark; 16], blind: [mark; 32] },
        })
    });
    match filed {
        Ok(_) => true,
        Err(FileError::Refused(())) => false,
        Err(FileError::Journal(error)) => panic!("{}", told(&error)),
    }
}

fn told(error: &JournalError) -> String {
    format!("what was drawn up can be filed: {error}")
}

fn moment(hours: i64) -> OffsetDateTime {
    START + Duration::hours(hours)
}

fn body(event: &Event, hours: i64, history: &History, definitions: &DefinitionSet) -> Option<Body> {
    match event {
        Event::Note => Some(Body::Note(None)),
        Event::Read { ago, software, serial, records, value } => {
            let mut said = ModuleReading {
                identity: Identity {
                    software: SOFTWARE[*software].map(str::to_owned),
                    serial: SERIALS[*serial].map(str::to_owned),
                    ..Identity::default()
                },
                ..ModuleReading::default()
            };
            for (at, heard) in records.iter().enumerate() {
                match heard {
                    Some(Said::Content(which)) => drop(said.records.insert(record(at), content(at, *which))),
                    Some(Said::Refused) => drop(said.refused.insert(record(at))),
                    None => {}
                }
            }
            said.settings.extend(value.map(|value| ("flashes".parse().unwrap(), value.to_string())));
            let taken = Some(moment(hours - ago).into());
            let reading = Reading { taken, modules: [(module(), said)].into(), ..Reading::default() };
            let terms = ReadingTerms { role: ReadingRole::Check, partial: true, recorded: moment(hours) };
            Some(Body::Reading(examine(&reading, history.state(), definitions, terms).ok()?.body))
        }
        Event::Write { record: at, content: which, corrects } => {
            let mut targets = Targets::new();
            targets.choose_record(module(), record(*at), content(*at, *which));
            if *corrects {
                let effects = corrected(history, definitions, &targets).ok()?;
                let last = history.state().last?;
                let corrects = EntryNumber::new(last.get()).filter(|last| *last > EntryNumber::FIRST)?;
                let correction = Correction { effects, ..Correction::of(corrects) };
                return Some(Body::Correction(correction));
            }
            let plan = plan(history, definitions, &targets).ok()?;
            Some(Body::Change(acknowledge(&plan, &[]).ok()?.work()))
        }
    }
}
