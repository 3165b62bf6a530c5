//! What each entry tells of its own moment, whatever was known when it was filed, and the same as an entry that stands on
//! what was so before it.

use std::collections::BTreeMap;

use super::HistoryError;
use super::chronology::TimeOrder;
use super::moments::{Coverage, StoredEntry};
use crate::definition::{Definition, DefinitionSet};
use crate::difference::{Content, ModuleSnapshot};
use crate::entry::{
    Body, Correction, Effects, Entry, IdentityEffect, LateContent, ModuleCoverage, ReadingBody, RecordEffect,
    StatedEffect, WorkBody,
};
use crate::identity::Identity;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingName, SettingPath};
use crate::sameness::compare_values;
use crate::state::{ModuleState, State};
use crate::value::HexBytes;

/// What an entry tells.
pub(super) struct EntryContents {
    entry: Entry,
    modules: BTreeMap<ModuleName, ModuleContents>,
}

/// What a reading shows of one module.
#[derive(Default)]
struct ModuleContents {
    covered: ModuleCoverage,
    /// What the module was, as far as it was known then; of what is told late only what the module said.
    identity: Identity,
    records: BTreeMap<RecordName, HexBytes>,
    settings: BTreeMap<SettingName, String>,
}

impl EntryContents {
    /// Of every entry, from entries in the order in which they were filed.
    pub(super) fn of(
        entries: Vec<StoredEntry>,
        definitions: &DefinitionSet,
    ) -> Result<BTreeMap<EntryNumber, Self>, HistoryError> {
        let mut state = State::default();
        let mut all = BTreeMap::new();
        for StoredEntry { entry, covered } in entries {
            // Entries that say nothing of the vehicle are left out.
            state.last = entry.number.get().checked_sub(1).and_then(EntryNumber::new);
            state.apply(&with_coverage(&entry, &covered))?;
            let modules = match &entry.body {
                Body::Reading(reading) => {
                    let module = |(name, covered): (&ModuleName, &ModuleCoverage)| {
                        let late = reading.late.get(name);
                        let shown = state.module(name).map(|known| shown(name, covered, late, known, definitions));
                        (name.clone(), shown.unwrap_or_default())
                    };
                    covered.iter().map(module).collect()
                }
                _ => BTreeMap::new(),
            };
            all.insert(entry.number, Self { entry, modules });
        }
        Ok(all)
    }
}

fn with_coverage(entry: &Entry, covered: &Coverage) -> Entry {
    let mut entry = entry.clone();
    if let Body::Reading(reading) = &mut entry.body {
        reading.covered = (**covered).clone();
    }
    entry
}

/// What a reading shows of a module of which `known` is known after it.
fn shown(
    name: &ModuleName,
    covered: &ModuleCoverage,
    late: Option<&LateContent>,
    known: &ModuleState,
    definitions: &DefinitionSet,
) -> ModuleContents {
    let nothing = LateContent::default();
    let late_content = late.unwrap_or(&nothing);
    let definition = definitions.explaining(name, &known.identity);
    let side = ModuleSnapshot { module: known, definition };
    let record = |record: &RecordName| {
        let bytes = late_content.records.get(record).or_else(|| known.records.get(record).map(|it| &it.bytes));
        Some((record.clone(), bytes?.clone()))
    };
    let setting = |setting: &SettingName| {
        let late = late_content.settings.get(setting).cloned();
        Some((setting.clone(), late.or_else(|| Some(side.content(setting)?.to_string()))?))
    };
    ModuleContents {
        identity: late_content.identity.clone().unwrap_or_else(|| known.identity.clone()),
        records: covered.records.iter().filter_map(record).collect(),
        settings: covered.settings.iter().filter_map(setting).collect(),
        covered: covered.clone(),
    }
}

/// What work is told to have found, whatever was so before it as far as the order is known.
#[derive(Debug, Clone, Default)]
pub(super) struct StatedBefore {
    records: BTreeMap<(ModuleName, RecordName), HexBytes>,
    stated: BTreeMap<SettingPath, String>,
}

impl StatedBefore {
    fn of(all: &[&Effects]) -> Self {
        let mut told = Self::default();
        for effects in all {
            let records = effects.records.iter();
            told.records
                .extend(records.filter_map(|it| Some(((it.module.clone(), it.record.clone()), it.found.clone()?))));
            for effect in &effects.stated {
                let path = SettingPath { module: effect.module.clone(), setting: effect.setting.clone() };
                told.stated.extend(effect.found.clone().map(|found| (path, found)));
            }
        }
        told
    }

    pub(super) fn record(&self, module: &ModuleName, record: &RecordName) -> Option<&HexBytes> {
        self.records.get(&(module.clone(), record.clone()))
    }

    /// What a setting is told to have held, as the definition of `side` explains it.
    pub(super) fn content(&self, path: &SettingPath, side: ModuleSnapshot<'_>) -> Option<Content> {
        let defined = side.definition.and_then(|definition| Some((definition, definition.setting(&path.setting)?)));
        if let Some(text) = self.stated.get(path) {
            return Some(Content::stated(defined.map(|(_, setting)| setting), text));
        }
        let (definition, setting) = defined?;
        let bytes = self.record(&path.module, setting.record())?;
        Content::decoded(setting, definition.id(), bytes.as_slice())
    }
}

/// The entry as it would have been filed at its moment, after those that happened before it, which gave `state`.
pub(super) fn retell(
    contents: EntryContents,
    place: EntryNumber,
    state: &State,
    definitions: &DefinitionSet,
    order: &TimeOrder,
) -> (Entry, StatedBefore) {
    let EntryContents { entry, modules } = contents;
    let (mut effects, mut tells) = (Effects::default(), StatedBefore::default());
    let body = match entry.body {
        Body::Reading(reading) => {
            for (name, shown) in &modules {
                let nothing = ModuleState::default();
                let known = state.module(name).unwrap_or(&nothing);
                let mut told = ModuleUpdate::of(name, known, definitions, &shown.identity);
                told.read(shown);
                told.finish(&mut effects);
            }
            let covered = modules.into_iter().map(|(name, shown)| (name, shown.covered)).collect();
            Body::Reading(ReadingBody { covered, effects, late: BTreeMap::new(), ..reading })
        }
        Body::Change(work) => {
            let told = [&work.effects, &work.late];
            retell_work(&told, state, definitions, &mut effects);
            tells = StatedBefore::of(&told);
            Body::Change(WorkBody { effects, ..WorkBody::default() })
        }
        Body::Correction(correction) => {
            // One that puts a moment right moves what is known; told in order there is nothing to move.
            if correction.happened.is_none() {
                retell_work(&[&correction.effects], state, definitions, &mut effects);
                tells = StatedBefore::of(&[&correction.effects]);
            }
            let corrects = order.place_of(correction.corrects);
            Body::Correction(Correction { corrects, effects, ..correction })
        }
        other => other,
    };
    (Entry { number: place, body, ..entry }, tells)
}

fn retell_work(told: &[&Effects], state: &State, definitions: &DefinitionSet, into: &mut Effects) {
    let mut names: Vec<&ModuleName> = Vec::new();
    for effects in told {
        names.extend(effects.records.iter().map(|effect| &effect.module));
        names.extend(effects.stated.iter().map(|effect| &effect.module));
    }
    names.sort();
    names.dedup();
    for name in names {
        let nothing = ModuleState::default();
        let known = state.module(name).unwrap_or(&nothing);
        let mut retelling = ModuleUpdate::of(name, known, definitions, &known.identity);
        for effects in told {
            for effect in effects.records.iter().filter(|effect| effect.module == *name) {
                retelling.write(&effect.record, &effect.left, effect.found.as_ref());
            }
            for effect in effects.stated.iter().filter(|effect| effect.module == *name) {
                match &effect.left {
                    Some(left) => retelling.set(&effect.setting, left, effect.found.as_ref()),
                    None => retelling.forget(&effect.setting),
                }
            }
        }
        retelling.finish(into);
    }
}

/// What one entry says of one module, being put onto what was known before it.
struct ModuleUpdate<'a> {
    name: &'a ModuleName,
    known: &'a ModuleState,
    identity: Identity,
    definition: Option<&'a Definition>,
    /// Whether it is another unit, or has other software, since this entry.
    renewed: bool,
    records: BTreeMap<RecordName, (HexBytes, Option<HexBytes>)>,
    settings: BTreeMap<SettingName, (Option<String>, Option<String>)>,
}

impl<'a> ModuleUpdate<'a> {
    fn of(name: &'a ModuleName, known: &'a ModuleState, definitions: &'a DefinitionSet, said: &Identity) -> Self {
        let identity = known.identity.updated_by(said);
        let definition = definitions.explaining(name, &identity);
        let renewed = known.identity.differs_in_text(&identity);
        Self { name, known, identity, definition, renewed, records: BTreeMap::new(), settings: BTreeMap::new() }
    }

    fn read(&mut self, shown: &ModuleContents) {
        for (record, bytes) in &shown.records {
            self.write(record, bytes, None);
        }
        for (setting, text) in &shown.settings {
            self.set(setting, text, None);
        }
        // Where bytes have come in, they tell the value from now on.
        let told_by_bytes: Vec<SettingName> = self
            .known
            .stated
            .keys()
            .filter(|setting| self.record_of(setting).is_some_and(|record| shown.records.contains_key(record)))
            .cloned()
            .collect();
        told_by_bytes.iter().for_each(|setting| self.forget(setting));
    }

    fn record_of(&self, setting: &SettingName) -> Option<&'a RecordName> {
        Some(self.definition?.setting(setting)?.record())
    }

    fn write(&mut self, record: &RecordName, bytes: &HexBytes, found: Option<&HexBytes>) {
        self.records.insert(record.clone(), (bytes.clone(), found.cloned()));
    }

    fn forget(&mut self, setting: &SettingName) {
        if self.known.stated.contains_key(setting) {
            self.settings.insert(setting.clone(), (None, None));
        }
    }

    /// Sets a value: in the bytes of its record where they are known, else by name.
    fn set(&mut self, setting: &SettingName, text: &str, found: Option<&String>) {
        if let Some(defined) = self.definition.and_then(|definition| definition.setting(setting)) {
            let record = defined.record();
            let before = self.known.current_record(record).filter(|_| !self.renewed).map(|known| &known.bytes);
            let bytes = self.records.get(record).map(|(bytes, _)| bytes).or(before);
            if let Some(bytes) = bytes {
                let stated = Content::stated(Some(defined), text);
                let mut raw = bytes.as_slice().to_vec();
                let held = defined.layout().decode(&raw).ok();
                let same = stated.value().zip(held.as_ref()).is_some_and(|(a, b)| compare_values(b, a, true).is_same());
                let put = stated.value().filter(|_| !same).map(|value| defined.layout().encode(value, &mut raw));
                if let Some(Ok(())) = put {
                    let checksum = self.definition.and_then(|it| it.record(record)?.checksum());
                    // A record too short for its checksum is as it is.
                    let _ = checksum.map(|checksum| checksum.set(&mut raw));
                    let found = self.records.get(record).and_then(|(_, found)| found.clone());
                    self.records.insert(record.clone(), (HexBytes::from(raw), found));
                }
                // A value that cannot be put into the bytes is told by the entry itself, and by nothing else.
                return;
            }
        }
        self.settings.insert(setting.clone(), (Some(text.to_owned()), found.cloned()));
    }

    fn finish(self, into: &mut Effects) {
        let module = || self.name.clone();
        if self.identity != self.known.identity {
            let (found, left) = (self.known.identity.clone(), self.identity.clone());
            into.identities.push(IdentityEffect { module: module(), found, left });
        }
        for (record, (left, told)) in self.records {
            let tells_work = told.as_ref().is_some_and(|told| *told != left);
            let found = self.known.records.get(&record).map(|known| known.bytes.clone()).or(told);
            // Work is told also where what it left was there before, as far as the order is known.
            if found.as_ref() != Some(&left) || tells_work {
                into.records.push(RecordEffect { module: module(), record, found, left });
            }
        }
        for (setting, (left, told)) in self.settings {
            let tells_work = told.is_some() && told != left;
            let found = self.known.stated.get(&setting).map(|known| known.value.clone()).or(told);
            // The same said differently moves nothing, as when it is filed.
            let defined = self.definition.and_then(|definition| definition.setting(&setting));
            let content = |text: &String| Content::stated(defined, text);
            let same = found.as_ref().zip(left.as_ref()).is_some_and(|(a, b)| content(a).same(&content(b)));
            if (found != left && !same) || tells_work {
                into.stated.push(StatedEffect { module: module(), setting, found, left });
            }
        }
    }
}
