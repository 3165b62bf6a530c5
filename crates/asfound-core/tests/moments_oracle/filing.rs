//! Files the facts of a history as a front end does, through the public interface alone.

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Author, Body, Correction, Effects, Entry, Moment, ReadingRole, Reason, RecordEffect, StatedEffect, Vehicle,
    WorkBody,
};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::Field;
use asfound_core::moment::StatedTime;
use asfound_core::names::EntryNumber;
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::state::State;
use asfound_core::value::HexBytes;
use time::{Duration, OffsetDateTime, UtcOffset};

use super::parse::{Alteration, Fact, Recorded, Said, Told, What};

/// Invented modules: one with two records, one of them with two settings; and one with a single setting.
const DEFINITIONS: [&str; 2] = [
    r#"
format = "asfound-definition/1"
id = "hob-body"
title = "Body module"
[applies_to]
module = "body"
[records.0D01]
label = "Comfort"
length = 2
[records.0D02]
label = "Lamps"
length = 1
[settings]
flashes = { label = "Flashes", record = "0D01", byte = 0, type = "integer", tags = ["comfort"] }
fold = { label = "Mirror fold", record = "0D01", byte = 1, type = "integer", tags = ["comfort"] }
fade = { label = "Fade", record = "0D02", byte = 0, type = "integer", tags = ["comfort"] }
"#,
    r#"
format = "asfound-definition/1"
id = "hob-seat"
title = "Seat module"
[applies_to]
module = "seat"
[records.2A01]
label = "Seat"
length = 1
[settings]
heat = { label = "Heat", record = "2A01", byte = 0, type = "integer", tags = ["comfort"] }
"#,
];

pub fn definitions() -> DefinitionSet {
    let mut set = DefinitionSet::new();
    for text in DEFINITIONS {
        let parsed = Definition::parse(text).unwrap_or_else(|problems| panic!("{problems:#?}"));
        set.add(parsed.definition).unwrap();
    }
    set
}

pub fn number(entry: u32) -> EntryNumber {
    EntryNumber::new(entry).unwrap()
}

pub fn field(path: &str) -> Field {
    Field::Setting(path.parse().unwrap())
}

/// A journal that is being filed.
pub struct Filing<'d> {
    definitions: &'d DefinitionSet,
    pub entries: Vec<Entry>,
    pub state: State,
    /// Why the first entry that does not follow from those before it does not.
    pub misfit: Option<String>,
}

impl<'d> Filing<'d> {
    /// With the enrolment, entry 1.
    pub fn new(definitions: &'d DefinitionSet, enrolled: OffsetDateTime) -> Self {
        let mut filing = Self { definitions, entries: Vec::new(), state: State::default(), misfit: None };
        let vehicle = Vehicle { tag: "hob".parse().unwrap(), vin: None, about: None, enrolled };
        filing.file(enrolled, enrolled.into(), Body::Enrolled(vehicle));
        filing
    }

    pub fn file(&mut self, recorded: OffsetDateTime, happened: StatedTime, body: Body) -> u32 {
        let number = u32::try_from(self.entries.len()).unwrap() + 1;
        let entry = Entry {
            number: EntryNumber::new(number).unwrap(),
            recorded,
            happened: happened.at,
            precision: happened.precision,
            author: Author::new("R. Quill", None).unwrap(),
            why: Reason::try_from("as noted".to_owned()).unwrap(),
            body,
        };
        if self.misfit.is_none() {
            self.misfit = self.state.apply(&entry).err().map(|why| format!("entry {number}: {why}"));
        }
        self.entries.push(entry);
        number
    }

    pub fn read(&mut self, recorded: OffsetDateTime, happened: StatedTime, said: &[Said]) -> u32 {
        let mut reading = Reading { taken: Some(happened), ..Reading::default() };
        for said in said {
            let mut module = ModuleReading::default();
            module.identity.serial.clone_from(&said.serial);
            module.records = said.records.iter().map(|(name, of)| (name.parse().unwrap(), bytes(of))).collect();
            module.settings = said.values.iter().map(|(name, of)| (name.parse().unwrap(), of.clone())).collect();
            reading.modules.insert(said.module.parse().unwrap(), module);
        }
        let terms = ReadingTerms { role: ReadingRole::Check, partial: true, recorded };
        let examined = examine(&reading, &self.state, self.definitions, terms);
        let body = examined.unwrap_or_else(|problems| panic!("{problems:#?}")).body;
        self.file(recorded, happened, Body::Reading(body))
    }

    /// What came late was told so by whoever recorded the history. Where the program is sure, it is of the same mind.
    pub fn work(&mut self, recorded: OffsetDateTime, happened: StatedTime, altered: &[Alteration]) -> u32 {
        let of = |late: bool| effects(altered.iter().filter(|alteration| alteration.late == late));
        let work = WorkBody { effects: of(false), late: of(true), ..WorkBody::default() };
        let next = number(u32::try_from(self.entries.len()).unwrap() + 1);
        let told = work.clone().told_late(Moment::new(next, happened, recorded), &self.state, self.definitions);
        assert_eq!(told.effects.records, work.effects.records, "entry {next}: what is certainly late comes late");
        self.file(recorded, happened, Body::Change(work))
    }

    pub fn never_made(&mut self, recorded: OffsetDateTime, entry: u32, instead: &[Alteration]) -> u32 {
        let effects = effects(instead.iter());
        let correction = Correction { never_made: true, effects, ..Correction::of(number(entry)) };
        self.file(recorded, recorded.into(), Body::Correction(correction))
    }
}

fn bytes(of: &[u8]) -> HexBytes {
    HexBytes::from(of.to_vec())
}

fn effects<'a>(altered: impl Iterator<Item = &'a Alteration>) -> Effects {
    let mut effects = Effects::default();
    for alteration in altered {
        let module = alteration.module.parse().unwrap();
        match &alteration.what {
            What::Record { name, found, left } => effects.records.push(RecordEffect {
                module,
                record: name.parse().unwrap(),
                found: Some(bytes(found)),
                left: bytes(left),
            }),
            What::Value { name, found, left } => effects.stated.push(StatedEffect {
                module,
                setting: name.parse().unwrap(),
                found: Some(found.clone()),
                left: Some(left.clone()),
            }),
        }
    }
    effects
}

/// Files a whole recorded history.
pub fn filed<'d>(definitions: &'d DefinitionSet, history: &Recorded) -> Filing<'d> {
    let offset = UtcOffset::from_whole_seconds(i32::try_from(history.offset * 60).unwrap()).unwrap();
    let mut now = (OffsetDateTime::UNIX_EPOCH + Duration::minutes(history.begin)).to_offset(offset);
    let mut filing = Filing::new(definitions, now);
    for Fact { since, lag, precision, told } in &history.facts {
        now += Duration::minutes(*since);
        if filing.misfit.is_some() {
            break;
        }
        let happened = StatedTime { at: now - Duration::minutes(*lag), precision: *precision };
        match told {
            Told::Reading(said) => filing.read(now, happened, said),
            Told::Work(altered) => filing.work(now, happened, altered),
            Told::NeverMade(entry, instead) => filing.never_made(now, *entry, instead),
        };
    }
    filing
}

/// The state of the modules, as the model writes it.
pub fn state_of(state: &State, modules: &[Said]) -> Vec<Said> {
    modules
        .iter()
        .map(|said| {
            let name = said.module.parse().unwrap();
            let module = state.module(&name).unwrap_or_else(|| panic!("{name} is known"));
            Said {
                module: said.module,
                serial: module.identity.serial.clone(),
                records: known(["0D01", "0D02", "2A01", "3B01"], |record| {
                    state.record(&name, &record.parse().unwrap()).map(|known| known.bytes.as_slice().to_vec())
                }),
                values: known(["chime"], |setting| {
                    module.stated.get(&setting.parse().unwrap()).map(|known| known.value.clone())
                }),
            }
        })
        .collect()
}

fn known<T, const N: usize>(
    names: [&'static str; N],
    of: impl Fn(&'static str) -> Option<T>,
) -> std::collections::BTreeMap<&'static str, T> {
    names.into_iter().filter_map(|name| of(name).map(|content| (name, content))).collect()
}
