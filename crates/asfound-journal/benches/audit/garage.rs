//! Makes the garage that is measured.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;
use std::process::Stdio;

use asfound_core::definition::Definition;
use asfound_core::difference::ModuleSnapshot;
use asfound_core::entry::{
    Author, Body, Effects, Entry, IdentityEffect, ModuleCoverage, ReadingBody, ReadingRole, Reason, RecordEffect,
    Vehicle, WorkBody,
};
use asfound_core::identity::Identity;
use asfound_core::moment::Precision;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, Tag};
use asfound_core::situation::Situation;
use asfound_core::state::State;
use asfound_core::value::HexBytes;
use asfound_journal::entry_files::{BLIND_PATH, Blind, Chain, EntryFile, Salt, VehicleFile, module_text};
use asfound_journal::garage::Garage;
use asfound_journal::manifest::{MANIFEST_PATH, Manifest};
use asfound_journal::{Digest, FilePath};
use time::OffsetDateTime;
use time::macros::datetime;

use crate::git::git_command;

pub(crate) const MODULES: usize = 30;
const RECORDS: usize = 12;
const RECORD_LENGTH: usize = 32;
const SETTINGS_A_RECORD: usize = 2;
const START: OffsetDateTime = datetime!(2026-03-14 09:20 +1);

/// Makes a garage with one journal of `entries` entries: the enrolment, a reading of everything, and changes.
pub(crate) fn build(place: &Path, entries: u32) {
    build_fleet(place, &["wren".to_owned()], entries, MODULES);
}

/// Makes a garage with such a journal for each of these tags, of vehicles of so many modules.
pub(crate) fn build_fleet(place: &Path, tags: &[String], entries: u32, modules: usize) {
    drop(Garage::create(place).unwrap());
    let mut child = git_command(&place.join("journals.git"))
        .args(["fast-import", "--quiet"])
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stream = std::io::BufWriter::new(child.stdin.take().unwrap());
    let mut chance = 1;
    for tag in tags {
        let mut builder = Builder::new(tag, modules, chance);
        for number in 1..=entries {
            let entry = builder.next_entry(EntryNumber::new(number).unwrap());
            stream.write_all(&builder.commit(&entry)).unwrap();
        }
        chance = builder.chance();
    }
    stream.flush().unwrap();
    drop(stream);
    assert!(child.wait().unwrap().success());
}

struct Builder {
    tag: Tag,
    definitions: BTreeMap<ModuleName, Definition>,
    state: State,
    chain: Chain,
    manifest: Manifest,
    chance: u64,
}

impl Builder {
    fn new(tag: &str, modules: usize, chance: u64) -> Self {
        let definitions = (0..modules).map(|n| {
            let text = definition_text(n);
            (format!("m{n}").parse().unwrap(), Definition::parse(&text).unwrap().definition)
        });
        Self {
            tag: tag.parse().unwrap(),
            definitions: definitions.collect(),
            state: State::default(),
            chain: Chain::start(),
            manifest: Manifest::new(),
            chance,
        }
    }

    /// The numbers are the same in every run: a linear congruential generator (Knuth's MMIX constants).
    fn chance(&mut self) -> u64 {
        self.chance = self.chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.chance >> 11
    }

    fn below(&mut self, limit: usize) -> usize {
        usize::try_from(self.chance() % limit as u64).unwrap()
    }

    fn bits<const N: usize>(&mut self) -> [u8; N] {
        std::array::from_fn(|_| u8::try_from(self.chance() & 0xFF).unwrap())
    }

    fn next_entry(&mut self, number: EntryNumber) -> Entry {
        let recorded = START + time::Duration::minutes(i64::from(number.get()));
        let body = match number.get() {
            1 => Body::Enrolled(Vehicle { tag: self.tag.clone(), vin: None, about: None, enrolled: START }),
            2 => self.reading(),
            _ => self.change(),
        };
        let author = Author::new("Edda Brandt", Some("edda@workshop.example")).unwrap();
        let why = Reason::try_from("the owner wants it so".to_owned()).unwrap();
        Entry { number, recorded, happened: recorded, precision: Precision::Second, author, why, body }
    }

    fn reading(&mut self) -> Body {
        let mut effects = Effects::default();
        let mut covered = BTreeMap::new();
        for module in self.definitions.keys().cloned().collect::<Vec<_>>() {
            let left = Identity { part_number: Some(format!("7M0-{module}")), ..Identity::default() };
            effects.identities.push(IdentityEffect { module: module.clone(), found: Identity::default(), left });
            for record in records() {
                let left = HexBytes::from(self.bits::<RECORD_LENGTH>().to_vec());
                effects.records.push(RecordEffect { module: module.clone(), record, found: None, left });
            }
            covered.insert(module, ModuleCoverage { records: records().collect(), ..ModuleCoverage::default() });
        }
        Body::Reading(ReadingBody {
            role: ReadingRole::AsFound,
            partial: false,
            by: None,
            tool: None,
            odometer_km: Some(48_210),
            supply_voltage: None,
            situation: Situation::default(),
            covered,
            effects,
            late: std::collections::BTreeMap::new(),
        })
    }

    /// One byte of one record of one module.
    fn change(&mut self) -> Body {
        let module: ModuleName = format!("m{}", self.below(self.definitions.len())).parse().unwrap();
        let record = records().nth(self.below(RECORDS)).unwrap();
        let found = self.state.record(&module, &record).unwrap().bytes.clone();
        let mut left = found.as_slice().to_vec();
        left[self.below(RECORD_LENGTH)] ^= 1 << self.below(8);
        let left = HexBytes::from(left);
        let effects =
            Effects { records: vec![RecordEffect { module, record, found: Some(found), left }], ..Effects::default() };
        Body::Change(WorkBody { effects, ..WorkBody::default() })
    }

    /// The entry as `git fast-import` takes it; files that it leaves as they were are not in it.
    fn commit(&mut self, entry: &Entry) -> Vec<u8> {
        self.state.apply(entry).unwrap();
        let mut files = BTreeMap::new();
        let (salt, vehicle_salt) = (Salt::from(self.bits()), Salt::from(self.bits()));
        if let Body::Enrolled(vehicle) = &entry.body {
            files.insert("vehicle.toml".to_owned(), VehicleFile::new(vehicle.clone(), vehicle_salt).to_text());
        }
        let blind = Blind::from(self.bits::<32>());
        files.insert(BLIND_PATH.to_owned(), blind.to_string());
        files.insert("entry.toml".to_owned(), EntryFile::new(entry, salt, self.chain.clone()).to_text());
        let moved = entry.body.effects().into_iter().flat_map(|effects| &effects.records);
        for module in moved.map(|effect| &effect.module).collect::<std::collections::BTreeSet<_>>() {
            let definition = &self.definitions[module];
            let side = ModuleSnapshot { module: &self.state.modules[module], definition: Some(definition) };
            files.insert(format!("modules/{module}.toml"), module_text(side));
            files.insert(format!("definitions/{}.toml", definition.id()), definition.text().to_owned());
        }
        for (path, text) in &files {
            self.manifest.insert(path.parse::<FilePath>().unwrap(), Digest::of(text.as_bytes()));
        }
        self.chain = self.chain.after(&blind.leaf_data(&self.manifest)).unwrap();
        files.insert(MANIFEST_PATH.to_owned(), self.manifest.to_string());

        let person = format!("Edda Brandt <edda@workshop.example> {} +0100", entry.recorded.unix_timestamp());
        let message = format!("{} {}: something\n\n{}\n", entry.number, entry.body.kind(), entry.why);
        let mut stream = format!("commit refs/heads/{}\nauthor {person}\ncommitter {person}\n", self.tag);
        stream.push_str(&format!("data {}\n{message}\n", message.len()));
        for (path, text) in &files {
            stream.push_str(&format!("M 100644 inline {path}\ndata {}\n{text}\n", text.len()));
        }
        stream.into_bytes()
    }
}

fn records() -> impl Iterator<Item = RecordName> {
    (0..RECORDS).map(|n| format!("0D{n:02X}").parse().unwrap())
}

pub(crate) fn definition_text(n: usize) -> String {
    let mut text = format!(
        "format = \"asfound-definition/1\"\nid = \"d{n}\"\ntitle = \"An invented module\"\n\n[applies_to]\nmodule = \"m{n}\"\n"
    );
    for record in records() {
        text.push_str(&format!("\n[records.{record}]\nlabel = \"Invented functions\"\nlength = {RECORD_LENGTH}\n"));
    }
    for (at, record) in records().enumerate() {
        for setting in 0..SETTINGS_A_RECORD {
            text.push_str(&format!(
                "\n[settings.s{at}_{setting}]\nlabel = \"Invented setting\"\nrecord = \"{record}\"\nbyte = {setting}\n\
                 bits = 8\ntype = \"integer\"\ntags = [\"comfort\"]\n"
            ));
        }
    }
    text
}
