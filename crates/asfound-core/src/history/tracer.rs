//! Goes through the entries and collects what each says of every field.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use time::OffsetDateTime;

use super::chain::{ContentSource, FieldContext, FieldObservation, settle};
use super::chronology::Chronology;
use super::corrections::Corrections;
use super::coverage::{Coverage, settings_told};
use super::log_writes::{HoldsContent, LogWrites};
use super::moments::{Moments, in_time};
use super::open_steps::OpenSteps;
use super::recomputed::StatedBefore;
use super::undeclared::{BitChange, UndeclaredBits, is_declared_volatile, undeclared_in};
use super::units::Units;
use super::unordered::settle_by_time;
use super::{Field, HandKind, History, HistoryError, Timelines};
use crate::definition::{Definition, DefinitionSet};
use crate::difference::{Content, ModuleSnapshot, same_layout, settings_of};
use crate::entry::{Body, Effects, Entry, ModuleCoverage, PutBackOf};
use crate::identity::Identity;
use crate::movement::{MovementObserver, Movements};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingName, SettingPath};
use crate::sameness::compare_identity_texts;
use crate::state::{KnownRecord, KnownSetting, ModuleState, State};

type RecordKey = (ModuleName, RecordName);

/// When a record was last read or written, and what its module was then.
#[derive(Debug, Clone)]
struct LastKnown {
    entry: EntryNumber,
    identity: Identity,
}

#[derive(Debug, Clone)]
pub(super) struct Tracer<'d> {
    definitions: &'d DefinitionSet,
    corrections: Corrections,
    wire: LogWrites,
    /// What shows that bits move: taken in as the entries were filed, also where they are gone through in time.
    movements: Arc<Movements>,
    observer: MovementObserver,
    only_declared_volatile: BTreeSet<EntryNumber>,
    state: State,
    coverage: Coverage,
    open_steps: OpenSteps,
    settings: BTreeMap<SettingPath, Vec<FieldObservation>>,
    undeclared: UndeclaredBits,
    put_backs: BTreeMap<EntryNumber, PutBackOf>,
    last_reading: Option<EntryNumber>,
    /// When each module became another unit or got other software.
    renewals: BTreeMap<ModuleName, Vec<(EntryNumber, HandKind)>>,
    records_known: BTreeMap<RecordKey, LastKnown>,
    settings_known: BTreeMap<SettingPath, EntryNumber>,
    layout_changed: BTreeMap<RecordKey, EntryNumber>,
    chronology: Chronology,
    units: Units,
    /// What the entries tell of their own moments, for when these are not in order.
    moments: Moments,
    /// Whether entries are told in the order of their moments, and what the present one is told to have found then.
    by_time: bool,
    told: StatedBefore,
    /// The readings of every module, with the unit that each shows.
    module_readings: BTreeMap<ModuleName, Vec<(EntryNumber, usize)>>,
}

impl<'d> Tracer<'d> {
    pub(super) fn new(definitions: &'d DefinitionSet) -> Self {
        Self {
            definitions,
            corrections: Corrections::default(),
            wire: LogWrites::default(),
            movements: Arc::default(),
            observer: MovementObserver::default(),
            only_declared_volatile: BTreeSet::new(),
            state: State::default(),
            coverage: Coverage::default(),
            open_steps: OpenSteps::default(),
            settings: BTreeMap::new(),
            undeclared: UndeclaredBits::default(),
            put_backs: BTreeMap::new(),
            last_reading: None,
            renewals: BTreeMap::new(),
            records_known: BTreeMap::new(),
            settings_known: BTreeMap::new(),
            layout_changed: BTreeMap::new(),
            chronology: Chronology::default(),
            units: Units::default(),
            moments: Moments::default(),
            by_time: false,
            told: StatedBefore::default(),
            module_readings: BTreeMap::new(),
        }
    }

    /// Before the first of entries that are told in the order of their moments.
    pub(super) fn by_time(definitions: &'d DefinitionSet, chronology: Chronology) -> Self {
        Self { chronology, by_time: true, ..Self::new(definitions) }
    }

    pub(super) fn state(&self) -> &State {
        &self.state
    }

    /// Leaves out the entries before `next`: they say nothing of what is traced.
    pub(super) fn skip_to(&mut self, next: EntryNumber) {
        if let Some(last) = self.state.last {
            self.state.last = EntryNumber::new(next.get() - 1).filter(|before| *before > last).or(Some(last));
        }
    }

    pub(super) fn entry(&mut self, entry: &Entry) -> Result<(), HistoryError> {
        self.chronology.push(entry);
        self.moments.push(entry);
        self.step(entry)?;
        self.open_steps.push(entry, &self.state, self.definitions);
        self.observer.push(entry, &self.state);
        Ok(())
    }

    /// Follows the state, and what becomes of each field, by one entry.
    pub(super) fn step(&mut self, entry: &Entry) -> Result<(), HistoryError> {
        let before = self.touched(entry);
        self.state.apply(entry)?;
        // What is told late moves nothing.
        let in_time = in_time(entry);
        let entry = in_time.as_ref();
        self.corrections.push(entry);
        self.wire.push(entry);
        if matches!(entry.body, Body::Reading(_)) {
            self.last_reading = Some(entry.number);
        }
        if let Body::PutBack(of, _) = &entry.body {
            self.put_backs.insert(entry.number, of.clone());
        }
        for (name, before) in before {
            // Taken out meanwhile rather than cloned: nothing looks at it in the state.
            let Some(after) = self.state.modules.remove(&name) else { continue };
            self.module(entry, &name, &before, &after);
            self.state.modules.insert(name, after);
        }
        Ok(())
    }

    /// Follows an entry that is told in the order of the moments.
    pub(super) fn step_by_time(&mut self, entry: &Entry, told: StatedBefore) -> Result<(), HistoryError> {
        self.told = told;
        self.step(entry)
    }

    /// The modules that an entry tells of, as they were before, with what it says was found where nothing was known.
    fn touched(&self, entry: &Entry) -> BTreeMap<ModuleName, ModuleState> {
        let mut names: BTreeSet<&ModuleName> = BTreeSet::new();
        if let Body::Reading(reading) = &entry.body {
            names.extend(reading.covered.keys());
        }
        let nothing = Effects::default();
        let effects = entry.body.effects().unwrap_or(&nothing);
        names.extend(effects.identities.iter().map(|effect| &effect.module));
        names.extend(effects.records.iter().map(|effect| &effect.module));
        names.extend(effects.stated.iter().map(|effect| &effect.module));
        let known = |name: &ModuleName| self.state.module(name).cloned().unwrap_or_default();
        let mut modules: BTreeMap<ModuleName, ModuleState> =
            names.into_iter().map(|name| (name.clone(), known(name))).collect();
        for effect in &effects.records {
            if let (Some(module), Some(found)) = (modules.get_mut(&effect.module), &effect.found) {
                let known =
                    KnownRecord { bytes: found.clone(), since: entry.number, read: None, known_at: entry.moment() };
                module.records.entry(effect.record.clone()).or_insert(known);
            }
        }
        for effect in &effects.stated {
            if let (Some(module), Some(found)) = (modules.get_mut(&effect.module), &effect.found) {
                let known =
                    KnownSetting { value: found.clone(), since: entry.number, read: None, known_at: entry.moment() };
                module.stated.entry(effect.setting.clone()).or_insert(known);
            }
        }
        modules
    }

    fn fitting(&self, module: &ModuleName, identity: &Identity) -> Option<&'d Definition> {
        self.definitions.explaining(module, identity)
    }

    fn module(&mut self, entry: &Entry, name: &ModuleName, before: &ModuleState, after: &ModuleState) {
        let mut found = ModuleSnapshot { module: before, definition: self.fitting(name, &before.identity) };
        let left = ModuleSnapshot { module: after, definition: self.fitting(name, &after.identity) };
        let same_definition = found.definition.map(Definition::id) == left.definition.map(Definition::id);
        if before.identity != after.identity {
            self.units.push(name, entry.number, &after.identity);
        }
        let unit = self.units.at(name, entry.number);
        if self.by_time && matches!(entry.body, Body::Reading(_)) {
            self.module_readings.entry(name.clone()).or_default().push((entry.number, unit));
        }
        if before.identity.differs_from(&after.identity) {
            let kind = hand_kind(&before.identity, &after.identity);
            self.renewals.entry(name.clone()).or_default().push((entry.number, kind));
        } else if before.identity != after.identity {
            // It is the module that it was; what fits it now explains what it held before.
            found.definition = left.definition;
            self.better_known(entry, name, found, left);
        }

        let told = ModuleStatement::of(entry, name, left.definition);
        if same_definition {
            told.settings.iter().for_each(|setting| self.setting(entry, (name, unit), setting, found, left));
        } else {
            let settings: BTreeSet<SettingName> = settings_of(found).into_iter().chain(settings_of(left)).collect();
            settings.iter().for_each(|setting| self.setting(entry, (name, unit), setting, found, left));
        }
        for record in &told.records {
            self.record(entry, (name, unit), record, left);
        }
        for setting in told.settings {
            self.settings_known.insert(SettingPath { module: name.clone(), setting }, entry.number);
        }
        if let Some(covered) = covered(entry, name) {
            self.coverage.push(entry.number, name, covered, left.definition);
        }
    }

    /// More is known of which module it is, and nothing contradicts what was known: what was read before may be
    /// explained now, and bits that nobody had named may have got names.
    fn better_known(&mut self, entry: &Entry, name: &ModuleName, found: ModuleSnapshot<'_>, left: ModuleSnapshot<'_>) {
        for record in found.module.records.keys().filter(|record| found.module.current_record(record).is_some()) {
            let key = (name.clone(), record.clone());
            let Some(known) = self.records_known.get(&key).cloned() else { continue };
            if !same_layout(record, self.fitting(name, &known.identity), left.definition) {
                self.change_layout(&key, entry.number);
            }
            let known = LastKnown { identity: left.module.identity.clone(), ..known };
            self.records_known.insert(key, known);
        }
    }

    fn setting(
        &mut self,
        entry: &Entry,
        (name, unit): (&ModuleName, usize),
        setting: &SettingName,
        found: ModuleSnapshot<'_>,
        left: ModuleSnapshot<'_>,
    ) {
        let path = SettingPath { module: name.clone(), setting: setting.clone() };
        let source = self.source(entry, name, self.settings_known.get(&path).copied());
        if self.by_time && source == ContentSource::Work {
            return self.work_by_time(entry.number, path, unit, found, left);
        }
        let steps = self.settings.get(&path).map_or(&[][..], Vec::as_slice);
        // What another unit holds is told also where it is the same.
        let other_unit = steps.last().is_some_and(|last| last.unit != unit) && source != ContentSource::Work;
        if let Some(last) = steps.last().filter(|_| !other_unit)
            && stays(setting, found, left, &last.left, source)
        {
            return;
        }
        let Some(now) = left.content(setting) else { return };
        // What stands beside what a correction puts right is nothing that it tells.
        if self.by_time
            && matches!(source, ContentSource::Correction(_))
            && self.told.content(&path, left).is_some_and(|told| told.same(&now))
        {
            return;
        }
        let defined = left.definition.and_then(|definition| definition.setting(setting));
        let was = found.content(setting);
        let steps = self.settings.entry(path).or_default();
        // What a reading finds goes on from what was last known, also where that was read under other software.
        let last = steps.last().map(|step| step.left.clone()).filter(|_| source != ContentSource::Work);
        let was = last.or(was).map(|was| was.typed_by(defined));
        if other_unit || was.as_ref().is_none_or(|was| !was.same(&now)) {
            steps.push(FieldObservation {
                entry: entry.number,
                source,
                found: was,
                left: now,
                told: None,
                unit,
                doubt: None,
            });
        } else if steps.is_empty() {
            // It held this before already, but only now anybody can say so.
            let source = ContentSource::Reading(HandKind::SettingsAltered);
            steps.push(FieldObservation {
                entry: entry.number,
                source,
                found: None,
                left: now,
                told: None,
                unit,
                doubt: None,
            });
        }
    }

    /// Work is kept as it is told, also where what it left was there already as far as the order is known.
    fn work_by_time(
        &mut self,
        entry: EntryNumber,
        path: SettingPath,
        unit: usize,
        found: ModuleSnapshot<'_>,
        left: ModuleSnapshot<'_>,
    ) {
        let Some(now) = left.content(&path.setting) else { return };
        let told = self.told.content(&path, left);
        let was = found.content(&path.setting);
        self.settings.entry(path).or_default().push(FieldObservation {
            entry,
            source: ContentSource::Work,
            found: was,
            left: now,
            told,
            unit,
            doubt: None,
        });
    }

    fn record(
        &mut self,
        entry: &Entry,
        (name, unit): (&ModuleName, usize),
        record: &RecordName,
        left: ModuleSnapshot<'_>,
    ) {
        let key = (name.clone(), record.clone());
        let now = LastKnown { entry: entry.number, identity: left.module.identity.clone() };
        let known = self.records_known.insert(key.clone(), now);
        let source = self.source(entry, name, known.as_ref().map(|known| known.entry));
        if let Some(known) = &known {
            if !same_layout(record, self.fitting(name, &known.identity), left.definition) {
                self.change_layout(&key, entry.number);
                return;
            }
            if other_software(&known.identity, &left.module.identity) {
                self.layout_changed.insert(key.clone(), entry.number);
            }
        }
        let effects = entry.body.effects().map_or(&[][..], |effects| &effects.records);
        for effect in effects.iter().filter(|effect| effect.module == *name && effect.record == *record) {
            let Some(found) = &effect.found else { continue };
            let told = self.told.record(name, record).cloned();
            let beside = told.as_ref().filter(|_| matches!(source, ContentSource::Correction(_)));
            let mut mask = undeclared_in(record, left.definition, beside.unwrap_or(found), &effect.left);
            let told = told.filter(|_| source == ContentSource::Work);
            if let Some(told) = &told {
                mask.add(&undeclared_in(record, left.definition, told, &effect.left));
            }
            if source == ContentSource::Work && is_declared_volatile(record, left.definition, found, &effect.left) {
                self.only_declared_volatile.insert(entry.number);
            }
            if !mask.is_empty() || told.is_some() {
                let when = self.chronology.of(entry.number).unwrap_or_else(|| entry.moment());
                self.undeclared.push(
                    &key,
                    BitChange {
                        entry: entry.number,
                        source,
                        mask,
                        found: found.clone(),
                        left: effect.left.clone(),
                        told,
                        unit,
                        at: when.span().last(),
                        identity: Arc::new(left.module.identity.clone()),
                    },
                );
            }
        }
    }

    fn change_layout(&mut self, key: &RecordKey, entry: EntryNumber) {
        self.undeclared.change_layout(key);
        self.layout_changed.insert(key.clone(), entry);
    }

    /// What kind of entry it is; `known` is when what it tells of was last known.
    fn source(&self, entry: &Entry, module: &ModuleName, known: Option<EntryNumber>) -> ContentSource {
        match &entry.body {
            Body::Reading(_) => {
                let renewals = self.renewals.get(module).map_or(&[][..], Vec::as_slice);
                let since = renewals.iter().filter(|(renewed, _)| known.is_none_or(|known| *renewed > known));
                ContentSource::Reading(since.map(|(_, kind)| *kind).min().unwrap_or(HandKind::SettingsAltered))
            }
            Body::Correction(correction) => ContentSource::Correction(correction.corrects),
            _ => ContentSource::Work,
        }
    }

    /// The life of every field, in the order in which it happened.
    pub(super) fn finish(mut self) -> History {
        let moments = std::mem::take(&mut self.moments);
        self.movements = Arc::new(std::mem::take(&mut self.observer).finish());
        if self.chronology.is_as_filed() && !moments.any_late() {
            return self.settle();
        }
        match moments.trace(&self.chronology, &self.corrections, &self.wire, self.definitions, None) {
            Ok((by_time, order)) => History {
                state: self.state,
                put_backs: self.put_backs,
                corrections: self.corrections,
                open_steps: self.open_steps,
                ..by_time.with_movements(Arc::clone(&self.movements)).settle().by_time(order)
            },
            // Definitions that fit together one moment and not another: as it was filed, then.
            Err(_) => self.settle(),
        }
    }

    /// The state and the life of every field as they were at a moment, as far as is known now.
    ///
    /// # Errors
    /// When two definitions fit a module.
    pub(super) fn until(mut self, until: OffsetDateTime) -> Result<History, HistoryError> {
        let moments = std::mem::take(&mut self.moments);
        let (by_time, order) =
            moments.trace(&self.chronology, &self.corrections, &self.wire, self.definitions, Some(until))?;
        let movements = Arc::new(self.observer.finish());
        let (put_backs, corrections) = (self.put_backs, self.corrections);
        let open_steps = self.open_steps.until(until);
        let by_time = by_time.with_movements(movements);
        Ok(History { open_steps, corrections, put_backs, ..by_time.settle().by_time(order) })
    }

    pub(super) fn knowing(mut self, corrections: Corrections, wire: LogWrites) -> Self {
        (self.corrections, self.wire) = (corrections, wire);
        self
    }

    /// The same, with what is known of moving bits.
    fn with_movements(self, movements: Arc<Movements>) -> Self {
        Self { movements, ..self }
    }

    fn settle(self) -> History {
        let none = BTreeSet::new();
        let units = &self.units;
        let mut history = History {
            state: self.state,
            timelines: Timelines::default(),
            coverage: self.coverage,
            open_steps: self.open_steps,
            corrections: self.corrections,
            last_said: BTreeMap::new(),
            put_backs: self.put_backs,
            last_reading: self.last_reading,
            layout_changed: self.layout_changed,
            wire: BTreeMap::new(),
            witnessed: BTreeMap::new(),
            chronology: self.chronology,
            units: Units::default(),
            order: None,
            movements: Arc::clone(&self.movements),
            only_declared_volatile: self.only_declared_volatile,
        };
        let corrections = history.corrections.clone();
        let mut timelines = Vec::new();
        let settings = self.settings.into_iter().map(|(path, steps)| (Field::Setting(path), steps));
        for (field, steps) in settings.chain(self.undeclared.into_fields(&corrections, &self.movements)) {
            let readings = history.coverage.readings_of(&field).unwrap_or(&none);
            let told = |entry: EntryNumber, left: &Content| {
                let Field::Setting(path) = &field else { return None };
                let text = history.corrections.was(entry, path)?;
                let defined = match left {
                    Content::Coded { definition, .. } => self.definitions.get(definition),
                    _ => self.definitions.fitting(&path.module, &history.state.identity(&path.module)).ok().flatten(),
                };
                Some(Content::stated(defined.and_then(|definition| definition.setting(&path.setting)), text))
            };
            let answers = |step: &FieldObservation| step.source.answers(step.entry, &history.corrections);
            let said = steps.iter().rev().find_map(answers);
            let identity = history.state.identity(field.module());
            let witnessed = |entry: EntryNumber, left: &Content| {
                let holds =
                    HoldsContent { field: &field, content: left, definitions: self.definitions, identity: &identity };
                self.wire.write_of(entry, &holds).is_some_and(|found| holds.is_shown(&found.write))
            };
            let around = FieldContext {
                corrections: &history.corrections,
                readings,
                chronology: &history.chronology,
                unit_at: &|entry| units.at(field.module(), entry),
                module_readings: self.module_readings.get(field.module()).map_or(&[][..], Vec::as_slice),
                has_serial: &|unit| units.has_serial(field.module(), unit),
                unit_known_at: &|entry| units.is_known_at(field.module(), entry),
                told: &told,
                witnessed: &witnessed,
            };
            let timeline = if self.by_time { settle_by_time(&steps, &around) } else { settle(&steps, &around) };
            if said != timeline.last().map(|last| last.entry) {
                history.last_said.insert(field.clone(), said);
            }
            if !timeline.transitions().is_empty() {
                timelines.push((field, timeline));
            }
        }
        history.timelines = Timelines::of(timelines);
        history.look_at_the_wire(&self.wire, self.definitions);
        history.units = self.units;
        history
    }
}

/// Whether the bits of a setting are the same as before, by the same definition: then there is no need to work out what they
/// mean, which most entries would ask of most settings. Work is held against what was there, a reading against the last
/// that is known.
fn stays(
    setting: &SettingName,
    found: ModuleSnapshot<'_>,
    left: ModuleSnapshot<'_>,
    last: &Content,
    source: ContentSource,
) -> bool {
    let coded = |side: ModuleSnapshot<'_>| {
        let (definition, defined) = side.definition.and_then(|it| Some((it, it.setting(setting)?)))?;
        let known = side.module.current_record(defined.record())?;
        Some((definition.id().clone(), defined.record().clone(), defined.layout().coded(known.bytes.as_slice()).ok()?))
    };
    let Some(now) = coded(left) else { return false };
    match (source, last) {
        (ContentSource::Work, _) => coded(found).is_some_and(|found| found == now),
        (_, Content::Coded { coded, record, definition, .. }) => {
            (definition, record, coded) == (&now.0, &now.1, &now.2)
        }
        _ => false,
    }
}

/// What an entry tells of one module.
struct ModuleStatement {
    /// Records that it read or wrote.
    records: BTreeSet<RecordName>,
    /// Settings in these records, and those that it tells by name.
    settings: BTreeSet<SettingName>,
}

impl ModuleStatement {
    fn of(entry: &Entry, module: &ModuleName, definition: Option<&Definition>) -> Self {
        let nothing = Effects::default();
        let effects = entry.body.effects().unwrap_or(&nothing);
        let written = effects.records.iter().filter(|effect| effect.module == *module);
        let written: BTreeSet<RecordName> = written.map(|effect| effect.record.clone()).collect();
        let stated = effects.stated.iter().filter(|effect| effect.module == *module);
        let mut settings: BTreeSet<SettingName> = stated.map(|effect| effect.setting.clone()).collect();
        let in_written = definition.into_iter().flat_map(|d| written.iter().flat_map(move |r| d.settings_in(r)));
        settings.extend(in_written.map(|setting| setting.name().clone()));
        let mut records = written;
        if let Some(covered) = covered(entry, module) {
            records.extend(covered.records.iter().cloned());
            settings.extend(settings_told(module, covered, definition).into_iter().map(|path| path.setting));
        }
        Self { records, settings }
    }
}

fn covered<'e>(entry: &'e Entry, module: &ModuleName) -> Option<&'e ModuleCoverage> {
    match &entry.body {
        Body::Reading(reading) => reading.covered.get(module),
        _ => None,
    }
}

fn differ_known(before: Option<&String>, after: Option<&String>) -> bool {
    before.zip(after).is_some_and(|(before, after)| compare_identity_texts(before, after).is_different())
}

/// What kind of alteration another identity is.
pub(crate) fn hand_kind(before: &Identity, after: &Identity) -> HandKind {
    if differ_known(before.part_number.as_ref(), after.part_number.as_ref())
        || differ_known(before.hardware.as_ref(), after.hardware.as_ref())
        || differ_known(before.serial.as_ref(), after.serial.as_ref())
    {
        HandKind::UnitSwapped
    } else if differ_known(before.software.as_ref(), after.software.as_ref()) {
        HandKind::SoftwareUpdated
    } else {
        HandKind::SettingsAltered
    }
}

/// Whether a module's part number, hardware or software is another one, or may be, so that bits that nobody has named may mean
/// something else. Another unit of the same kind has another serial number only.
fn other_software(before: &Identity, after: &Identity) -> bool {
    let serial = after.serial.clone();
    !Identity { serial, ..before.clone() }.compare(after).is_same()
}
