//! A journal in memory, and an invented vehicle to go with it.

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::StepPlace;
use asfound_core::entry::{Author, Body, Entry, ReadingRole, Reason};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::{Field, History};
use asfound_core::moment::Precision;
use asfound_core::names::{EntryNumber, SettingPath};
use asfound_core::plan::{Plan, StatedContent, Targets, acknowledge, plan};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::value::Value;
use time::{Duration, OffsetDateTime};

use crate::vehicle::Vehicle;

/// Byte 2 of 0D01 counts by itself; byte 3 is the sum of bytes 0 and 1. Bits 4 to 7 of byte 1 are named by nobody.
const BODY: &str = r#"
format = "asfound-definition/1"
id = "walk-body"
title = "Body module"
[applies_to]
module = "body"
[records.0D01]
label = "Comfort"
length = 4
volatile = ["2"]
checksum = { at = 3, over = "0-1", kind = "sum" }
[records.0D02]
label = "Speeds"
length = 2
[settings.flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 0
bits = 3
type = "integer"
tags = ["lighting"]
[settings.horn]
label = "Horn on locking"
record = "0D01"
byte = 0
bit = 3
bits = 1
type = "switch"
tags = ["audible"]
[settings.fade]
label = "Fade"
record = "0D01"
byte = 1
bits = 4
type = "integer"
tags = ["comfort"]
[settings.speed]
label = "Speed from which doors lock"
record = "0D02"
byte = 0
type = "integer"
tags = ["locking"]
[[rules]]
name = "one-tone"
exclusive = [{ horn = "on" }, { "cluster.chime" = "on" }]
because = "Two tones at once"
# Fade before speed before flashes, and fade and flashes are in one record: a plan for all three writes it twice.
[[rules]]
name = "fast-needs-fade"
when = { speed = { at_least = 100 } }
needs = { fade = { at_least = 8 } }
because = "Invented"
[[rules]]
name = "many-need-fast"
when = { flashes = { at_least = 6 } }
needs = { speed = { at_least = 100 } }
because = "Invented"
"#;

const CLUSTER: &str = r#"
format = "asfound-definition/1"
id = "walk-cluster"
title = "Cluster"
[applies_to]
module = "cluster"
[records.0C01]
label = "Display"
length = 1
[settings.sweep]
label = "Needle sweep"
record = "0C01"
byte = 0
bits = 1
type = "switch"
tags = ["display"]
[settings.chime]
label = "Chime on locking"
record = "0C01"
byte = 0
bit = 1
bits = 1
type = "switch"
tags = ["audible"]
"#;

/// The settings that are altered, and how many values each has.
pub const SETTINGS: [(&str, u8); 7] = [
    ("body.flashes", 8),
    ("body.horn", 2),
    ("body.fade", 16),
    ("body.speed", 200),
    ("cluster.sweep", 2),
    ("cluster.chime", 2),
    ("radio.bass", 9),
];

pub fn record(module: &str, record: &str) -> StepPlace {
    StepPlace::Record(module.parse().unwrap(), record.parse().unwrap())
}

pub fn by_name(path: &str) -> StepPlace {
    StepPlace::Setting(path.parse().unwrap())
}

pub fn path(text: &str) -> SettingPath {
    text.parse().unwrap()
}

/// A value of one of [`SETTINGS`].
pub fn value(setting: usize, number: u8) -> (SettingPath, Value, String) {
    let (name, values) = SETTINGS[setting % SETTINGS.len()];
    let number = number % values;
    let value = match name {
        "radio.bass" => Value::Text(number.to_string()),
        _ if values == 2 => Value::Switch(number == 1),
        _ => Value::Integer(number.into()),
    };
    let text = value.to_string();
    (path(name), value, text)
}

/// A journal and the vehicle that it is about.
#[derive(Debug, Clone)]
pub struct Garage {
    pub entries: Vec<Entry>,
    pub definitions: DefinitionSet,
}

impl Garage {
    /// A vehicle that was read as found: entry 2.
    pub fn with_vehicle() -> (Self, Vehicle) {
        let mut vehicle = Vehicle::default();
        let bytes = |text: &str| StatedContent::Bytes(text.parse().unwrap());
        vehicle.put(record("body", "0D01"), bytes("03 A2 11 A5"), Some(2));
        vehicle.put(record("body", "0D02"), bytes("0F 5A"), None);
        vehicle.put(record("cluster", "0C01"), bytes("10"), None);
        vehicle.put(by_name("radio.bass"), StatedContent::Value("3".to_owned()), None);
        let mut definitions = DefinitionSet::new();
        for text in [BODY, CLUSTER] {
            definitions.add(Definition::parse(text).unwrap().definition).unwrap();
        }
        let mut garage = Self { entries: Vec::new(), definitions };
        let enrolled = OffsetDateTime::UNIX_EPOCH;
        let tag = "wren".parse().unwrap();
        garage.file(Body::Enrolled(asfound_core::entry::Vehicle { tag, vin: None, about: None, enrolled }));
        garage.read(&vehicle);
        (garage, vehicle)
    }

    /// Files a reading of everything that is truly there.
    pub fn read(&mut self, vehicle: &Vehicle) -> EntryNumber {
        let mut reading = Reading::default();
        for place in vehicle.places() {
            let module = match place {
                StepPlace::Record(module, _) => module,
                StepPlace::Setting(path) => &path.module,
            };
            let module: &mut ModuleReading = reading.modules.entry(module.clone()).or_default();
            match (place, vehicle.truth(place)) {
                (StepPlace::Record(_, record), StatedContent::Bytes(bytes)) => {
                    module.records.insert(record.clone(), bytes.clone());
                }
                (StepPlace::Setting(path), StatedContent::Value(text)) => {
                    module.settings.insert(path.setting.clone(), text.clone());
                }
                _ => unreachable!("records have bytes, settings values"),
            }
        }
        let terms = ReadingTerms { role: ReadingRole::Check, partial: true, recorded: self.now() };
        let history = self.history();
        let examined = examine(&reading, history.state(), &self.definitions, terms).unwrap();
        self.file(Body::Reading(examined.body))
    }

    fn now(&self) -> OffsetDateTime {
        OffsetDateTime::UNIX_EPOCH + Duration::days(i64::try_from(self.entries.len()).unwrap() + 1)
    }

    pub fn file(&mut self, body: Body) -> EntryNumber {
        let number = EntryNumber::new(u32::try_from(self.entries.len()).unwrap() + 1).unwrap();
        let at = self.now();
        let (author, why) = (Author::new("bench", None).unwrap(), Reason::try_from("a test".to_owned()).unwrap());
        self.entries.push(Entry {
            number,
            recorded: at,
            happened: at,
            precision: Precision::Second,
            author,
            why,
            body,
        });
        number
    }

    pub fn history(&self) -> History {
        History::trace(&self.entries, &self.definitions).expect("the entries follow from each other")
    }

    /// Alters settings and files it as made; nothing where that is not allowed.
    pub fn change(&mut self, vehicle: &mut Vehicle, values: &[(SettingPath, Value, String)]) -> Option<EntryNumber> {
        let mut targets = Targets::new();
        for (path, value, _) in values {
            targets.choose(Field::Setting(path.clone()), value.clone());
        }
        let plan = plan(&self.history(), &self.definitions, &targets).ok()?;
        carry_out(vehicle, &plan);
        Some(self.file(Body::Change(acknowledge(&plan, &[]).ok()?.work())))
    }
}

fn carry_out(vehicle: &mut Vehicle, plan: &Plan) {
    for step in &plan.steps {
        let step = asfound_core::plan::SavedStep::of(step);
        vehicle.write(&step.place(), &step.wanted(), crate::vehicle::Fault::None);
    }
}
