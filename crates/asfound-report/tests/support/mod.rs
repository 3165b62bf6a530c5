//! A journal in memory with invented content, and what a sheet needs beside it.

#![allow(dead_code)] // every test binary takes what it needs

pub mod everything;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Acknowledgement, Author, AuthorisedItem, Body, Correction, Effects, Entry, OrderTerms, ReadingRole, Reason,
    TermSubject, Vehicle,
};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::history::{Field, History};
use asfound_core::moment::Precision;
use asfound_core::names::EntryNumber;
use asfound_core::plan::{Targets, acknowledge, plan};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use asfound_core::trial::TrialBuilder;
use asfound_core::work_order::orders;
use asfound_report::sheet::{
    MomentsBuilder, SealShown, SharedTexts, Sheet, SheetBuilder, SheetError, SheetRequest, SheetSubject,
    SignatureShown, SignatureWorth, Workshop,
};
use asfound_report::{BookBuilder, BookRequest, Language, book_page};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

/// A body module: record 0D01 holds flashes (byte 0, bits 0 to 2) and folding (bit 3); byte 2 changes by itself. Bits 4 to 7 of
/// byte 0, and byte 1, are named by nobody.
pub const BODY: &str = r#"
format = "asfound-definition/1"
id = "test-body"
title = "Body module"
cautions = ["Lamps must stay as the law has them."]

[applies_to]
module = "body"

[records.0D01]
label = "Comfort"
length = 3
volatile = ["2"]

[settings.flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 0
bit = 0
bits = 3
type = "integer"
range = { min = 1, max = 7 }
tags = ["lighting"]

[settings.fold]
label = "Fold mirrors when locked"
record = "0D01"
byte = 0
bit = 3
bits = 1
type = "switch"
tags = ["comfort"]
"#;

/// The seal of an invented journal.
pub const FULL: &str = "7:1d6ec2f0a9b5743880fe12cd34ab56ef7890a1b2c3d4e5f60718293a4b5c6d7e";

pub fn number(entry: u32) -> EntryNumber {
    EntryNumber::new(entry).expect("entries start with 1")
}

/// Texts that a user controls, for every place that has one.
#[derive(Debug, Clone)]
pub struct Texts {
    pub about: String,
    pub author: String,
    pub why: String,
    pub tool: String,
    pub by: String,
    pub serial: String,
    pub value: String,
    pub code: String,
    pub note: String,
    pub customer: String,
    pub workshop: String,
    pub grounds: String,
    pub label: String,
}

impl Default for Texts {
    fn default() -> Self {
        Self {
            about: "estate, dark green".to_owned(),
            author: "Edda Brandt".to_owned(),
            why: "the owner wants five".to_owned(),
            tool: "bench reader 2".to_owned(),
            by: "Ole Quist".to_owned(),
            serial: "S-0042".to_owned(),
            value: "moss".to_owned(),
            code: "B1A1B-2C".to_owned(),
            note: "wiper blade worn, not replaced".to_owned(),
            customer: "R. Quill".to_owned(),
            workshop: "Workshop at the Weir".to_owned(),
            grounds: "asked for by the owner".to_owned(),
            label: "Lane-change flashes".to_owned(),
        }
    }
}

impl Texts {
    /// The same text everywhere, as far as the model takes it there.
    pub fn all(text: &str) -> Self {
        let no_controls: String = text.chars().filter(|c| !c.is_control()).collect();
        let name: String = no_controls.chars().filter(|c| !matches!(c, '<' | '>')).collect();
        let name = if name.trim().is_empty() { "x".to_owned() } else { name };
        let line = if no_controls.trim().is_empty() { "x".to_owned() } else { no_controls };
        let reason: String = text.chars().filter(|c| !c.is_control() || matches!(c, '\n' | '\t')).collect();
        let reason = if reason.trim().is_empty() { "x".to_owned() } else { reason };
        Self {
            about: text.to_owned(),
            author: name,
            why: reason.clone(),
            tool: text.to_owned(),
            by: text.to_owned(),
            serial: text.to_owned(),
            value: line.clone(),
            code: line.chars().take(30).collect(),
            note: reason,
            customer: text.to_owned(),
            workshop: text.to_owned(),
            grounds: text.to_owned(),
            label: line,
        }
    }
}

/// A journal in memory.
#[derive(Debug, Clone)]
pub struct Journal {
    pub entries: Vec<Entry>,
    pub definitions: DefinitionSet,
    pub texts: Texts,
    at: OffsetDateTime,
}

impl Journal {
    pub fn new(texts: &Texts) -> Self {
        let mut definitions = DefinitionSet::new();
        let quoted = serde_json::to_string(&texts.label).expect("a text").replace("\\u007f", "");
        let body = BODY.replace("\"Lane-change flashes\"", &quoted);
        let parsed = Definition::parse(&body).or_else(|_| Definition::parse(BODY)).expect("the definition is sound");
        definitions.add(parsed.definition).expect("one definition");
        let at = datetime!(2026-03-14 09:20 +1);
        let mut journal = Self { entries: Vec::new(), definitions, texts: texts.clone(), at };
        let tag = "wren".parse().expect("a tag");
        journal
            .file(Body::Enrolled(Vehicle { tag, vin: None, about: Some(texts.about.clone()), enrolled: at }), "start");
        journal
    }

    pub fn file(&mut self, body: Body, why: &str) -> u32 {
        let number = number(u32::try_from(self.entries.len()).expect("a short journal") + 1);
        let author = Author::new(&self.texts.author, None).expect("a name");
        let why = Reason::try_from(why.to_owned()).expect("a reason");
        self.entries.push(Entry {
            number,
            recorded: self.at,
            happened: self.at,
            precision: Precision::Second,
            author,
            why,
            body,
        });
        self.at += Duration::hours(7);
        number.get()
    }

    pub fn state(&self) -> State {
        State::fold(&self.entries).expect("the entries follow from each other")
    }

    pub fn history(&self) -> History {
        History::trace(&self.entries, &self.definitions).expect("the journal can be traced")
    }

    /// Files a reading: modules with their records, and what one of them refuses.
    pub fn read(
        &mut self,
        role: ReadingRole,
        body: &str,
        cluster: Option<&str>,
        change: impl FnOnce(&mut Reading),
    ) -> u32 {
        let mut reading = Reading {
            tool: Some(self.texts.tool.clone()),
            by: Some(self.texts.by.clone()),
            odometer_km: Some(84_310),
            supply_voltage: Some("13.6".parse().expect("a decimal")),
            ..Reading::default()
        };
        let mut module = ModuleReading::default();
        module.identity.software = Some("0130".to_owned());
        module.identity.serial = Some(self.texts.serial.clone());
        module.records.insert("0D01".parse().expect("a record"), body.parse().expect("bytes"));
        module.trouble_codes = Some(vec![]);
        reading.modules.insert("body".parse().expect("a module"), module);
        if let Some(bytes) = cluster {
            let mut module = ModuleReading::default();
            module.records.insert("2A00".parse().expect("a record"), bytes.parse().expect("bytes"));
            module.settings.insert("colour".parse().expect("a setting"), self.texts.value.clone());
            reading.modules.insert("cluster".parse().expect("a module"), module);
        }
        change(&mut reading);
        let terms = ReadingTerms { role, partial: true, recorded: self.at };
        let examined = examine(&reading, &self.state(), &self.definitions, terms)
            .unwrap_or_else(|problems| panic!("{problems:#?}"));
        let mut filed = examined.body;
        filed.partial = false;
        let why = self.texts.why.clone();
        self.file(Body::Reading(filed), &why)
    }

    /// Files a change of settings of the body module.
    pub fn change(&mut self, setting: &str, value: &str) -> u32 {
        let path: asfound_core::names::SettingPath = format!("body.{setting}").parse().expect("a setting");
        let identity = self.state().identity(&path.module);
        let defined = self.definitions.setting(&path, &identity).expect("one fits").expect("it is defined");
        let value = defined.layout().parse_value(value).expect("a value");
        let mut targets = Targets::new();
        targets.choose(Field::Setting(path), value);
        let acknowledgements = vec![Acknowledgement {
            tag: SafetyTag::Lighting,
            name: self.texts.by.clone(),
            grounds: self.texts.grounds.clone(),
        }];
        let plan = plan(&self.history(), &self.definitions, &targets).expect("a plan");
        let work = acknowledge(&plan, &acknowledgements).expect("nothing of it is restricted").work();
        let why = self.texts.why.clone();
        self.file(Body::Change(work), &why)
    }

    pub fn note(&mut self) -> u32 {
        let note = self.texts.note.clone();
        self.file(Body::Note(None), &note)
    }

    pub fn never_made(&mut self, entry: u32, effects: Effects) -> u32 {
        let correction = Correction {
            corrects: number(entry),
            never_made: true,
            was: std::collections::BTreeMap::new(),
            words: None,
            effects,
            happened: None,
            precision: asfound_core::moment::Precision::Second,
        };
        self.file(Body::Correction(correction), "noted by mistake")
    }

    /// Opens an order: settings or records with what they are to hold, or a module with `unit`.
    pub fn order(&mut self, authorised: &[(&str, &str)]) -> u32 {
        let item = |(place, left): &(&str, &str)| match (place.split_once(':'), *left) {
            (Some((module, record)), left) => AuthorisedItem::Record {
                module: module.parse().expect("a module"),
                record: record.parse().expect("a record"),
                left: left.parse().expect("bytes"),
            },
            (None, "unit") => AuthorisedItem::Unit { module: place.parse().expect("a module") },
            (None, left) => {
                AuthorisedItem::Setting { setting: place.parse().expect("a setting"), left: left.to_owned() }
            }
        };
        let text = |text: &str| Reason::try_from(text.to_owned()).expect("a reason");
        let terms = OrderTerms {
            estimate: Some(text(&self.texts.why)),
            authorised: authorised.iter().map(item).collect(),
            ..OrderTerms::new("A-17".parse().expect("a number"), text(&self.texts.why))
        };
        self.file(Body::OrderOpened(terms), "work order A-17")
    }

    /// Adds settings to the open order, and takes others out of it.
    pub fn extend(&mut self, authorised: &[(&str, &str)], withdrawn: &[&str]) -> u32 {
        let setting = |text: &str| text.parse().expect("a setting");
        let consent = Reason::try_from(self.texts.why.clone()).expect("a reason");
        let item = |(place, left): &(&str, &str)| AuthorisedItem::Setting {
            setting: setting(place),
            left: (*left).to_owned(),
        };
        let terms = OrderTerms {
            authorised: authorised.iter().map(item).collect(),
            withdrawn: withdrawn.iter().map(|place| TermSubject::Setting { setting: setting(place) }).collect(),
            ..OrderTerms::new("A-17".parse().expect("a number"), consent)
        };
        self.file(Body::OrderExtended(terms), "more of work order A-17")
    }

    /// The sheet of the last order, or without any between the last readings as found and as left.
    pub fn sheet(&self) -> Result<Sheet<'static>, SheetError> {
        self.sheet_between(None, None)
    }

    pub fn sheet_between(&self, from: Option<u32>, to: Option<u32>) -> Result<Sheet<'static>, SheetError> {
        let mut orders = orders(&self.entries);
        let subject = match (from, to, orders.pop()) {
            (None, None, Some(order)) => SheetSubject::Order(order),
            (_, _, last) => {
                orders.extend(last);
                SheetSubject::Between { from: from.map(number), to: to.map(number), orders }
            }
        };
        let meanings = ["made", "read", "stated", "released"];
        let standings = [SignatureWorth::Unsigned, SignatureWorth::Good, SignatureWorth::Unknown, SignatureWorth::Bad];
        let (mut outline, mut trials) = (MomentsBuilder::default(), TrialBuilder::default());
        for entry in &self.entries {
            outline.push(entry);
            trials.push(entry);
        }
        // A sheet holds on to these; a test that is over needs them no more than its process does.
        let (definitions, history) =
            (Box::leak(Box::new(self.definitions.clone())), Box::leak(Box::new(self.history())));
        let outline = Box::leak(Box::new(outline));
        let mut texts = SharedTexts::default();
        let signatures = self.entries.iter().zip(0_usize..).map(|(entry, at)| SignatureShown {
            entry: entry.number,
            at: entry.recorded,
            name: texts.of(entry.author.name()),
            meaning: meanings[at % 4],
            standing: standings[at / 2 % 4],
            signer: None,
            key: None,
        });
        let mut drawing = SheetBuilder::begin(SheetRequest {
            outline,
            trials,
            definitions,
            history,
            subject,
            customer: Some(self.texts.customer.clone()),
            workshop: Workshop {
                name: Some(self.texts.workshop.clone()),
                address: vec![self.texts.workshop.clone()],
                licence: None,
                footer: Some(self.texts.workshop.clone()),
            },
            signatures: signatures.collect(),
            seal: seal(),
            printed: datetime!(2026-03-16 17:00 +1),
        })?;
        self.entries.iter().try_for_each(|entry| drawing.push(entry))?;
        drawing.finish()
    }

    /// The page of the journal's book.
    pub fn book(&self, language: Language) -> String {
        let history = self.history();
        let mut binding = BookBuilder::begin(BookRequest {
            definitions: &self.definitions,
            history: &history,
            seal: seal(),
            printed: datetime!(2026-03-16 17:00 +1),
            language,
        });
        self.entries.iter().for_each(|entry| binding.push(entry));
        book_page(&binding.finish().expect("the journal begins with an enrolment"))
    }
}

pub fn seal() -> SealShown {
    SealShown { entries: 7, full: FULL.to_owned(), short: "00007-3NQC5-W59PN-T3H0F-Y2B6K-D4NEB".to_owned() }
}

/// As found, two changes, a note, as left: one change read back, and bits that nobody named and nobody recorded.
pub fn story(texts: &Texts) -> Journal {
    let mut journal = Journal::new(texts);
    let code = texts.code.clone();
    journal.read(ReadingRole::AsFound, "03 40 11", Some("01 02 03 04"), |_| {});
    journal.change("flashes", "5");
    journal.change("fold", "on");
    journal.note();
    journal.read(ReadingRole::AsLeft, "0D 40 7F", Some("01 02 03 04"), |reading| {
        let body = reading.modules.get_mut(&"body".parse().expect("a module")).expect("it was put in");
        body.trouble_codes =
            Some(vec![asfound_core::trouble_code::ReportedCode::new(code.parse().expect("a code"), None)]);
    });
    journal
}
