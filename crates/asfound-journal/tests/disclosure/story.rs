//! A small journal of an invented car with two modules, in a store without a disk.

use std::collections::BTreeSet;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Author, Body, Effects, IdentityEffect, ModuleCoverage, ReadingBody, ReadingRole, Reason, RecordEffect, Vehicle,
    WorkBody,
};
use asfound_core::identity::Identity;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::situation::Situation;
use asfound_journal::Digest;
use asfound_journal::disclosure::{Disclosure, DisclosureRequest, ModuleChoice, disclose};
use asfound_journal::journal::{EntryDraft, EntryIndex, EntryRandomness, FileError, FiledEntry, Journal};
use asfound_journal::store::MemoryStore;
use time::macros::datetime;

pub(crate) const CUSTOMER: &str = "Orla Quist";
pub(crate) const AUTHOR: &str = "Edda Brandt";
pub(crate) const VIN: &str = "1M8GDM9AXKP042788";

/// A definition of one module with one switch: whoever has it can write down every file that the module can have.
fn definition(module: &str) -> String {
    format!(
        "format = \"asfound-definition/1\"\nid = \"{module}-1\"\ntitle = \"Invented {module}\"\nsource = \"invented\"\n\
         systems = [\"comfort\"]\n[applies_to]\nmodule = \"{module}\"\npart_number = [\"{module}-100\"]\n\
         [records.0100]\nlabel = \"All of it\"\nlength = 1\n\
         [settings.quiet]\nlabel = \"Quiet\"\nrecord = \"0100\"\nbyte = 0\nbit = 0\nbits = 1\ntype = \"switch\"\n\
         factory = \"off\"\ntags = [\"comfort\"]\nabout = \"Less noise.\"\n"
    )
}

/// The journal, and everything in it that a test may want.
pub(crate) struct Story {
    store: MemoryStore,
}

impl Story {
    /// Enrolled, both modules read, one changed, a note.
    pub(crate) fn new() -> Self {
        let story = Self { store: MemoryStore::new() };
        let vehicle = Vehicle {
            tag: tag(),
            vin: Some(VIN.parse().unwrap()),
            about: Some(format!("car of {CUSTOMER}")),
            enrolled: datetime!(2026-03-14 09:00 +1),
        };
        story.file(Body::Enrolled(vehicle), "journal started");
        let both = ["body", "climate"];
        let effects = Effects {
            identities: both.map(identity).into(),
            records: both.map(|module| record(module, None, "00")).into(),
            ..Effects::default()
        };
        let covered = both.map(|module| {
            let records = BTreeSet::from(["0100".parse().unwrap()]);
            (module.parse().unwrap(), ModuleCoverage { records, ..ModuleCoverage::default() })
        });
        let reading = ReadingBody {
            role: ReadingRole::AsFound,
            partial: false,
            by: None,
            tool: None,
            odometer_km: Some(81_200),
            supply_voltage: None,
            situation: Situation::default(),
            covered: covered.into(),
            effects,
            late: std::collections::BTreeMap::new(),
        };
        story.file(Body::Reading(reading), "before work");
        let effects = Effects { records: vec![record("body", Some("00"), "01")], ..Effects::default() };
        let work = WorkBody { settings: vec!["body.quiet".parse().unwrap()], effects, ..WorkBody::default() };
        story.file(Body::Change(work), &format!("{CUSTOMER} wants it quiet"));
        story.file(Body::Note(None), "key handed over");
        story
    }

    pub(crate) fn journal(&self) -> Journal<'_, MemoryStore> {
        Journal::new(&self.store, tag())
    }

    pub(crate) fn store(&self) -> &MemoryStore {
        &self.store
    }

    pub(crate) fn entries(&self) -> Vec<FiledEntry> {
        self.journal().entries().unwrap()
    }

    pub(crate) fn index(&self) -> EntryIndex {
        self.journal().index().unwrap()
    }

    pub(crate) fn leaves(&self) -> Vec<Digest> {
        self.journal().leaves(&self.index(), None).unwrap()
    }

    pub(crate) fn text(&self, entry: u32, path: &str) -> String {
        let journal = self.journal();
        let commit = &self.entries()[entry as usize - 1].commit;
        let (manifest, _) = journal.manifest(commit).unwrap();
        journal.listed_text(commit, &manifest, &path.parse().unwrap()).unwrap()
    }

    /// Discloses entries of the whole journal.
    pub(crate) fn disclose(&self, entries: &[u32], pick: &DisclosureRequest) -> Disclosure {
        disclose(&self.journal(), &self.index(), None, &numbers(entries), pick).unwrap()
    }

    pub(crate) fn file(&self, body: Body, why: &str) {
        let count = if self.journal().exists().unwrap() { self.entries().len() } else { 0 };
        // As good as random, and the same in every run.
        let chance = |what: &str| *Digest::of(format!("{what} {count}").as_bytes()).as_bytes();
        let at = datetime!(2026-03-14 09:00 +1) + time::Duration::hours(i64::try_from(count).unwrap());
        let draft = EntryDraft {
            recorded: at,
            happened: at,
            precision: asfound_core::moment::Precision::Second,
            author: Author::new(AUTHOR, Some("edda@workshop.example")).unwrap(),
            why: Reason::try_from(why.to_owned()).unwrap(),
            body,
            evidence: Vec::new(),
            chance: EntryRandomness {
                entry: chance("entry")[..16].try_into().unwrap(),
                vehicle: chance("vehicle")[..16].try_into().unwrap(),
                blind: chance("blind"),
            },
        };
        let filed = self.journal().file(&definitions(), |_| Ok::<_, ()>(draft.clone()));
        assert!(
            filed.is_ok(),
            "{:?}",
            filed.map_err(|error| match error {
                FileError::Journal(error) => error.to_string(),
                FileError::Refused(()) => "refused".to_owned(),
            })
        );
    }
}

fn definitions() -> DefinitionSet {
    let mut set = DefinitionSet::new();
    for module in ["body", "climate"] {
        set.add(Definition::parse(&definition(module)).unwrap().definition).unwrap();
    }
    set
}

fn identity(module: &str) -> IdentityEffect {
    let left = Identity { part_number: Some(format!("{module}-100")), ..Identity::default() };
    IdentityEffect { module: module.parse().unwrap(), found: Identity::default(), left }
}

fn record(module: &str, found: Option<&str>, left: &str) -> RecordEffect {
    RecordEffect {
        module: module.parse().unwrap(),
        record: "0100".parse().unwrap(),
        found: found.map(|bytes| bytes.parse().unwrap()),
        left: left.parse().unwrap(),
    }
}

fn tag() -> Tag {
    "wren".parse().unwrap()
}

pub(crate) fn number(entry: u32) -> EntryNumber {
    EntryNumber::new(entry).unwrap()
}

pub(crate) fn numbers(entries: &[u32]) -> BTreeSet<EntryNumber> {
    entries.iter().copied().map(number).collect()
}

pub(crate) fn modules(names: &[&str]) -> ModuleChoice {
    ModuleChoice::Named(names.iter().map(|name| name.parse().unwrap()).collect())
}
