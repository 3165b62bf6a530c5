//! What entries say of one setting, so that its life can be told without everything else.

use std::collections::{BTreeMap, BTreeSet};

use super::tracer::Tracer;
use super::{History, HistoryError};
use crate::definition::DefinitionSet;
use crate::entry::{
    Body, BusLogBody, Correction, Effects, Entry, LateContent, ModuleCoverage, ReadingBody, WireWrite, WorkBody,
};
use crate::names::{ModuleName, RecordName, SettingPath};

/// One setting, and where its module may hold it.
///
/// Its life follows from its module's identities, from the records that definitions place it in and from what is told of
/// it by value; nothing else in the journal bears on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OneSetting {
    path: SettingPath,
    records: BTreeSet<RecordName>,
}

impl OneSetting {
    /// A setting, with every record in which one of the definitions has it.
    pub fn new(path: SettingPath, definitions: &DefinitionSet) -> Self {
        let of_module = definitions.iter().filter(|definition| *definition.module() == path.module);
        let records = of_module.filter_map(|definition| Some(definition.setting(&path.setting)?.record().clone()));
        Self { records: records.collect(), path }
    }

    /// The setting.
    pub fn path(&self) -> &SettingPath {
        &self.path
    }

    /// Its module.
    pub fn module(&self) -> &ModuleName {
        &self.path.module
    }

    /// Whether what is said of a record of its module bears on it.
    pub fn is_in(&self, record: &RecordName) -> bool {
        self.records.contains(record)
    }

    /// The part of an entry that bears on the setting; nothing where it says nothing of it.
    ///
    /// The enrolment and the corrections are kept: the one begins the journal, the others say of work whether it was made.
    pub fn part_of(&self, entry: &Entry) -> Option<Entry> {
        let with = |body: Body| Entry { body, ..entry.clone() };
        match &entry.body {
            Body::Enrolled(_) => Some(entry.clone()),
            Body::Correction(correction) => {
                let effects = self.effects(&correction.effects);
                Some(with(Body::Correction(Correction { effects, ..correction.clone() })))
            }
            Body::Reading(reading) => {
                let (effects, covered) = (self.effects(&reading.effects), self.covered(&reading.covered));
                let late = self.late(&reading.late);
                let says = !effects.is_empty() || !covered.is_empty() || !late.is_empty();
                says.then(|| with(Body::Reading(ReadingBody { covered, effects, late, ..reading.clone() })))
            }
            Body::Change(work) => {
                let work = self.work(work);
                work.map(|work| with(Body::Change(work)))
            }
            Body::PutBack(of, work) => {
                let work = self.work(work);
                work.map(|work| with(Body::PutBack(of.clone(), work)))
            }
            Body::Witness(witness) => {
                let mine = |write: &&WireWrite| write.module == self.path.module && self.is_in(&write.record);
                let writes: Vec<WireWrite> = witness.writes.iter().filter(mine).cloned().collect();
                (!writes.is_empty()).then(|| with(Body::Witness(BusLogBody { writes, ..BusLogBody::default() })))
            }
            Body::Note(_) | Body::OrderOpened(_) | Body::OrderExtended(_) | Body::OrderClosed(_) => None,
        }
    }

    fn work(&self, work: &WorkBody) -> Option<WorkBody> {
        let (effects, late) = (self.effects(&work.effects), self.effects(&work.late));
        let says = !effects.is_empty() || !late.is_empty();
        says.then(|| WorkBody { effects, late, ..work.clone() })
    }

    fn late(&self, all: &BTreeMap<ModuleName, LateContent>) -> BTreeMap<ModuleName, LateContent> {
        let Some(late) = all.get(&self.path.module) else { return BTreeMap::new() };
        let records = late.records.iter().filter(|(record, _)| self.is_in(record));
        let settings = late.settings.iter().filter(|(setting, _)| **setting == self.path.setting);
        let part = LateContent {
            identity: late.identity.clone(),
            records: records.map(|(record, bytes)| (record.clone(), bytes.clone())).collect(),
            settings: settings.map(|(setting, text)| (setting.clone(), text.clone())).collect(),
            ..LateContent::default()
        };
        let says = !part.is_empty();
        says.then(|| (self.path.module.clone(), part)).into_iter().collect()
    }

    fn effects(&self, all: &Effects) -> Effects {
        let mine = |module: &ModuleName| *module == self.path.module;
        let identities = all.identities.iter().filter(|effect| mine(&effect.module));
        let records = all.records.iter().filter(|effect| mine(&effect.module) && self.is_in(&effect.record));
        let stated = all.stated.iter().filter(|effect| mine(&effect.module) && effect.setting == self.path.setting);
        Effects {
            identities: identities.cloned().collect(),
            records: records.cloned().collect(),
            stated: stated.cloned().collect(),
        }
    }

    fn covered(&self, all: &BTreeMap<ModuleName, ModuleCoverage>) -> BTreeMap<ModuleName, ModuleCoverage> {
        let part = all.get(&self.path.module).and_then(|covered| self.covered_part(covered));
        part.map(|covered| (self.path.module.clone(), covered)).into_iter().collect()
    }

    /// The part of what a reading covered of the setting's module; nothing where it did not cover the setting.
    pub fn covered_part(&self, covered: &ModuleCoverage) -> Option<ModuleCoverage> {
        let records: BTreeSet<RecordName> =
            covered.records.iter().filter(|record| self.is_in(record)).cloned().collect();
        let settings: BTreeSet<_> =
            covered.settings.iter().filter(|setting| **setting == self.path.setting).cloned().collect();
        let says = !records.is_empty() || !settings.is_empty();
        says.then(|| ModuleCoverage { records, settings, ..ModuleCoverage::default() })
    }
}

impl History {
    /// Traces one setting through the parts of entries that bear on it ([`OneSetting::part_of`]), made with the same
    /// definitions. Of other fields the history says nothing that could be relied on.
    ///
    /// # Errors
    /// When the entries do not follow from each other.
    pub fn trace_one(parts: &[Entry], definitions: &DefinitionSet) -> Result<Self, HistoryError> {
        let mut tracer = Tracer::new(definitions);
        for entry in parts {
            tracer.skip_to(entry.number);
            tracer.entry(entry)?;
        }
        Ok(tracer.finish())
    }
}
