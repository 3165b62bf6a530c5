//! Traces every field through all entries.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use super::corrections::Corrections;
use super::{Field, HandKind, Origin, Timeline, Transition};
use crate::definition::{Definition, DefinitionSet, Identity, TwoFit};
use crate::difference::{Content, Side, differ, same_layout, settings_of};
use crate::entry::{Body, Correction, Effects, Entry, Reason};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingName, SettingPath};
use crate::state::{KnownRecord, KnownSetting, MisfitEffect, ModuleState, State};
use crate::value::{BitMask, HexBytes};

/// Why a journal cannot be traced.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HistoryError {
    /// An entry does not follow from those before it.
    #[error(transparent)]
    Misfit(#[from] MisfitEffect),
    /// Two definitions fit a module.
    #[error("{module}: {source}")]
    TwoFit {
        /// The module.
        module: ModuleName,
        /// The definitions.
        #[source]
        source: TwoFit,
    },
}

/// What readings covered: for each field's place, the readings that gave it, in order.
#[derive(Debug, Clone, Default)]
struct Coverage {
    records: BTreeMap<(ModuleName, RecordName), Vec<EntryNumber>>,
    settings: BTreeMap<SettingPath, Vec<EntryNumber>>,
}

/// A change of bits that no definition names, before groups are joined.
#[derive(Debug, Clone)]
struct UndeclaredStep {
    entry: EntryNumber,
    by_reading: bool,
    kind: HandKind,
    mask: BitMask,
    found: HexBytes,
    left: HexBytes,
}

/// The life of every field of a vehicle.
#[derive(Debug, Clone, Default)]
pub struct History {
    state: State,
    timelines: BTreeMap<Field, Timeline>,
    coverage: Coverage,
    corrections: Corrections,
    /// Records whose layout became another one, and when.
    relaid: BTreeMap<(ModuleName, RecordName), EntryNumber>,
}

impl History {
    /// Traces every field through `entries`, which start with the enrolment.
    ///
    /// # Errors
    /// When the entries do not follow from each other, or two definitions fit a module.
    pub fn trace(entries: &[Entry], definitions: &DefinitionSet) -> Result<Self, HistoryError> {
        let corrections = Corrections::collect(entries);
        let mut tracer =
            Tracer { definitions, undeclared: BTreeMap::new(), history: Self { corrections, ..Self::default() } };
        for entry in entries {
            tracer.entry(entry)?;
        }
        Ok(tracer.finish())
    }

    /// The state after the last entry.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// Every field of which something is known, with its transitions.
    pub fn timelines(&self) -> &BTreeMap<Field, Timeline> {
        &self.timelines
    }

    /// The transitions of one field.
    pub fn timeline(&self, field: &Field) -> Option<&Timeline> {
        self.timelines.get(field)
    }

    /// The entries that correct an entry, in order.
    pub fn corrections_of(&self, entry: EntryNumber) -> &[EntryNumber] {
        self.corrections.of(entry)
    }

    /// Whether a later entry says that the work in an entry was never made.
    pub fn never_made(&self, entry: EntryNumber) -> bool {
        self.corrections.never_made(entry)
    }

    /// The words that an entry should have had as its reason or note, where a later entry says so.
    pub fn corrected_words(&self, entry: EntryNumber) -> Option<&Reason> {
        self.corrections.words(entry)
    }

    /// The transitions that one entry tells of, by field.
    pub fn transitions_of(&self, entry: EntryNumber) -> impl Iterator<Item = (&Field, &Transition)> {
        self.timelines.iter().flat_map(move |(field, timeline)| {
            timeline.transitions().iter().filter(move |step| step.entry == entry).map(move |step| (field, step))
        })
    }

    /// The last entry at which a record's layout became another one.
    pub fn relaid(&self, module: &ModuleName, record: &RecordName) -> Option<EntryNumber> {
        self.relaid.get(&(module.clone(), record.clone())).copied()
    }

    /// The first reading after `entry` that covers `field`.
    pub(super) fn first_reading_of(&self, field: &Field, entry: EntryNumber) -> Option<EntryNumber> {
        self.readings_of(field).into_iter().find(|reading| *reading > entry)
    }

    /// The last reading that covers `field`.
    pub fn last_reading_of(&self, field: &Field) -> Option<EntryNumber> {
        self.readings_of(field).last().copied()
    }

    fn readings_of(&self, field: &Field) -> BTreeSet<EntryNumber> {
        let mut readings = BTreeSet::new();
        let mut of_record = |module: &ModuleName, record: &RecordName| {
            readings.extend(self.coverage.records.get(&(module.clone(), record.clone())).into_iter().flatten());
        };
        match field {
            Field::Undeclared { module, record, .. } => of_record(module, record),
            Field::Setting(path) => {
                let held = self.timelines.get(field).into_iter().flat_map(Timeline::held);
                let records: BTreeSet<&RecordName> = held
                    .filter_map(|content| match content {
                        Content::Coded { record, .. } => Some(record),
                        _ => None,
                    })
                    .collect();
                for record in records {
                    of_record(&path.module, record);
                }
                readings.extend(self.coverage.settings.get(path).into_iter().flatten());
            }
        }
        readings
    }
}

struct Tracer<'d> {
    definitions: &'d DefinitionSet,
    undeclared: BTreeMap<(ModuleName, RecordName), Vec<UndeclaredStep>>,
    history: History,
}

impl<'d> Tracer<'d> {
    fn entry(&mut self, entry: &Entry) -> Result<(), HistoryError> {
        let before = entry.body.effects().map(|effects| self.touched(effects));
        self.history.state.apply(entry)?;
        if let Body::Reading(reading) = &entry.body {
            self.cover(entry.number, reading);
        }
        if let (Some(effects), Some(before)) = (entry.body.effects(), before) {
            for (name, before) in before {
                self.module(entry, effects, &name, &before)?;
            }
        }
        if let Body::Correction(correction) = &entry.body {
            self.correct(correction);
        }
        Ok(())
    }

    /// The modules that effects touch, as they were before, with what the effects say was found.
    fn touched(&self, effects: &Effects) -> BTreeMap<ModuleName, ModuleState> {
        let mut modules: BTreeMap<ModuleName, ModuleState> = BTreeMap::new();
        let mut module = |name: &ModuleName| {
            let known = self.history.state.module(name).cloned().unwrap_or_default();
            modules.entry(name.clone()).or_insert(known);
        };
        effects.identities.iter().for_each(|effect| module(&effect.module));
        effects.records.iter().for_each(|effect| module(&effect.module));
        effects.stated.iter().for_each(|effect| module(&effect.module));
        for effect in &effects.records {
            if let (Some(module), Some(found)) = (modules.get_mut(&effect.module), &effect.found) {
                let known = KnownRecord { bytes: found.clone(), since: EntryNumber::FIRST, read: None };
                module.records.entry(effect.record.clone()).or_insert(known);
            }
        }
        for effect in &effects.stated {
            if let (Some(module), Some(found)) = (modules.get_mut(&effect.module), &effect.found) {
                let known = KnownSetting { value: found.clone(), since: EntryNumber::FIRST, read: None };
                module.stated.entry(effect.setting.clone()).or_insert(known);
            }
        }
        modules
    }

    fn cover(&mut self, entry: EntryNumber, reading: &crate::entry::ReadingBody) {
        for (module, covered) in &reading.covered {
            for record in &covered.records {
                let key = (module.clone(), record.clone());
                self.history.coverage.records.entry(key).or_default().push(entry);
            }
            for setting in &covered.settings {
                let key = SettingPath { module: module.clone(), setting: setting.clone() };
                self.history.coverage.settings.entry(key).or_default().push(entry);
            }
        }
    }

    fn fitting(&self, module: &ModuleName, identity: &Identity) -> Result<Option<&'d Definition>, HistoryError> {
        let fitting = self.definitions.fitting(module, identity);
        fitting.map_err(|source| HistoryError::TwoFit { module: module.clone(), source })
    }

    fn module(
        &mut self,
        entry: &Entry,
        effects: &Effects,
        name: &ModuleName,
        before: &ModuleState,
    ) -> Result<(), HistoryError> {
        let Some(after) = self.history.state.module(name).cloned() else { return Ok(()) };
        let found = Side { module: before, definition: self.fitting(name, &before.identity)? };
        let left = Side { module: &after, definition: self.fitting(name, &after.identity)? };
        let kind = hand_kind(&before.identity, &after.identity);
        let records: Vec<_> = effects.records.iter().filter(|effect| effect.module == *name).collect();
        let same_definition = found.definition.map(Definition::id) == left.definition.map(Definition::id);

        let settings: BTreeSet<SettingName> = if same_definition {
            let touched = |setting: &SettingName| {
                let record = left.definition.and_then(|definition| definition.setting(setting)).map(|s| s.record());
                records.iter().any(|effect| Some(&effect.record) == record)
                    || effects.stated.iter().any(|effect| effect.module == *name && effect.setting == *setting)
            };
            settings_of(found).into_iter().chain(settings_of(left)).filter(touched).collect()
        } else {
            settings_of(found).into_iter().chain(settings_of(left)).collect()
        };
        for setting in settings {
            let Some(now) = left.content(&setting) else { continue };
            let was = found.content(&setting);
            if was.as_ref().is_some_and(|was| was.same(&now)) {
                continue;
            }
            let path = SettingPath { module: name.clone(), setting };
            self.setting(entry, path, was, now, kind);
        }

        for effect in records {
            let key = (name.clone(), effect.record.clone());
            let Some(was) = &effect.found else { continue };
            if !same_layout(&effect.record, found.definition, left.definition) {
                self.history.relaid.insert(key, entry.number);
                continue;
            }
            let mask = differ(&effect.record, left.definition, was.as_slice(), effect.left.as_slice()).undeclared;
            if !mask.is_empty() {
                self.undeclared.entry(key).or_default().push(UndeclaredStep {
                    entry: entry.number,
                    by_reading: matches!(entry.body, Body::Reading(_)),
                    kind,
                    mask,
                    found: was.clone(),
                    left: effect.left.clone(),
                });
            }
        }
        Ok(())
    }

    fn setting(&mut self, entry: &Entry, path: SettingPath, was: Option<Content>, now: Content, kind: HandKind) {
        let field = Field::Setting(path);
        if let Body::Correction(correction) = &entry.body {
            if !correction.never_made
                && let Some(timeline) = self.history.timelines.get_mut(&field)
                && let Some(step) = timeline.of_entry_mut(correction.corrects)
            {
                step.left = now;
            }
            return;
        }
        let origin = match &entry.body {
            Body::Reading(_) => match (&was, self.unproven(&field)) {
                (None, _) => Origin::FirstKnown,
                (Some(_), Some(work)) => Origin::Contradicts(work),
                (Some(_), None) => Origin::AnotherHand(kind),
            },
            _ => Origin::Work,
        };
        let transition = Transition { entry: entry.number, origin, found: was, left: now };
        self.history.timelines.entry(field).or_default().push(transition);
    }

    /// The last work on a field, if no reading has covered the field since.
    fn unproven(&self, field: &Field) -> Option<EntryNumber> {
        let last = self.history.timeline(field)?.last()?;
        let current = self.history.state.last?;
        let first_reading = self.history.first_reading_of(field, last.entry);
        // The reading at hand is covered already, so it is the first one when no other came before it.
        (last.origin == Origin::Work && first_reading.is_none_or(|reading| reading == current)).then_some(last.entry)
    }

    fn correct(&mut self, correction: &Correction) {
        if correction.never_made {
            for timeline in self.history.timelines.values_mut() {
                timeline.take_out(correction.corrects);
            }
            for steps in self.undeclared.values_mut() {
                steps.retain(|step| step.entry != correction.corrects);
            }
        }
        for (path, text) in &correction.was {
            let field = Field::Setting(path.clone());
            let identity = self.history.state.identity(&path.module);
            let definition = self.definitions.fitting(&path.module, &identity).ok().flatten();
            let setting = definition.and_then(|definition| definition.setting(&path.setting));
            let step = self.history.timelines.get_mut(&field).and_then(|t| t.of_entry_mut(correction.corrects));
            if let Some(step) = step {
                step.found = Some(Content::stated(setting, text));
            }
        }
    }

    /// Joins overlapping groups of undeclared bits into fields.
    fn finish(mut self) -> History {
        for ((module, record), steps) in std::mem::take(&mut self.undeclared) {
            let corrections: BTreeSet<EntryNumber> =
                steps.iter().map(|s| s.entry).filter(|n| self.is_correction(*n)).collect();
            let steps: Vec<_> = steps.into_iter().filter(|step| !corrections.contains(&step.entry)).collect();
            for mask in joined(steps.iter().map(|step| step.mask.clone())) {
                let field = Field::Undeclared { module: module.clone(), record: record.clone(), mask: mask.clone() };
                for step in steps.iter().filter(|step| step.mask.overlaps(&mask)) {
                    let origin = if step.by_reading {
                        self.unproven_before(&field, step.entry)
                            .map_or(Origin::AnotherHand(step.kind), Origin::Contradicts)
                    } else {
                        Origin::Work
                    };
                    let transition = Transition {
                        entry: step.entry,
                        origin,
                        found: Some(Content::bits(&mask, step.found.as_slice())),
                        left: Content::bits(&mask, step.left.as_slice()),
                    };
                    self.history.timelines.entry(field.clone()).or_default().push(transition);
                }
            }
        }
        self.history.timelines.retain(|_, timeline| !timeline.transitions().is_empty());
        self.history
    }

    fn is_correction(&self, entry: EntryNumber) -> bool {
        self.history.corrections.is_correction(entry)
    }

    fn unproven_before(&self, field: &Field, reading: EntryNumber) -> Option<EntryNumber> {
        let last = self.history.timeline(field)?.last()?;
        let first = self.history.first_reading_of(field, last.entry);
        (last.origin == Origin::Work && first == Some(reading)).then_some(last.entry)
    }
}

/// Joins masks that overlap until none do.
fn joined(masks: impl Iterator<Item = BitMask>) -> Vec<BitMask> {
    let mut groups: Vec<BitMask> = Vec::new();
    for mut mask in masks {
        // A mask that has grown may overlap a group that it did not overlap before.
        while let Some(at) = groups.iter().position(|group| group.overlaps(&mask)) {
            mask.add(&groups.swap_remove(at));
        }
        groups.push(mask);
    }
    groups.sort();
    groups
}

fn hand_kind(before: &Identity, after: &Identity) -> HandKind {
    let differs = |a: &Option<String>, b: &Option<String>| a.is_some() && b.is_some() && a != b;
    if differs(&before.part_number, &after.part_number)
        || differs(&before.hardware, &after.hardware)
        || differs(&before.serial, &after.serial)
    {
        HandKind::UnitSwapped
    } else if differs(&before.software, &after.software) {
        HandKind::SoftwareUpdated
    } else {
        HandKind::SettingsAltered
    }
}
