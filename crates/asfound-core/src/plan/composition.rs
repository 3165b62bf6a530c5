//! Collects what is wanted into one write for each record.

use std::collections::BTreeMap;

use super::compose::BlockedField;
use super::draft::{SettingRefusal, WriteDraft};
use super::refusal::PlanRefusal;
use super::step::{Step, StepSetting, Write};
use super::target::{Targets, WantedContent};
use super::writing::{by_name_step, record_step};
use crate::definition::{Definition, DefinitionSet, SettingDefinition};
use crate::difference::{Content, ModuleSnapshot};
use crate::history::{Field, History};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use crate::state::{ModuleState, State};
use crate::value::{BitMask, HexBytes};

/// What the writes are collected for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    /// Work on the vehicle.
    Work,
    /// A correction of the journal, which tells what is in the vehicle, permitted or not.
    Correction,
}

pub(super) struct Composition<'a> {
    purpose: Purpose,
    history: &'a History,
    definitions: &'a DefinitionSet,
    targets: &'a Targets<'a>,
    drafts: BTreeMap<(ModuleName, RecordName), WriteDraft>,
    /// Records into which settings go that were held under another layout or other software, and since when it is this one.
    renewed: BTreeMap<(ModuleName, RecordName), EntryNumber>,
    steps: Vec<Step>,
    blocked: Vec<BlockedField>,
    no_way_back: Vec<Field>,
}

impl<'a> Composition<'a> {
    pub(super) fn new(
        history: &'a History,
        definitions: &'a DefinitionSet,
        targets: &'a Targets<'a>,
        purpose: Purpose,
    ) -> Self {
        let (drafts, renewed, steps) = (BTreeMap::new(), BTreeMap::new(), Vec::new());
        let (blocked, no_way_back) = (targets.blocked.clone(), Vec::new());
        Self { purpose, history, definitions, targets, drafts, renewed, steps, blocked, no_way_back }
    }

    /// The steps, not yet in order, and the fields that are blocked.
    pub(super) fn steps(mut self) -> Result<(Vec<Step>, Vec<BlockedField>), PlanRefusal> {
        for ((module, record), bytes) in &self.targets.records {
            let draft = self.whole_record(module, record, bytes)?;
            self.drafts.insert((module.clone(), record.clone()), draft);
        }
        for (field, wanted) in self.targets.wanted() {
            match field {
                Field::Setting(path) => self.setting(field, path, wanted)?,
                Field::Undeclared { module, record, mask } => self.bits(field, module, record, mask, wanted),
            }
        }
        for ((module, record), draft) in std::mem::take(&mut self.drafts) {
            self.write(&module, record, draft)?;
        }
        if self.no_way_back.is_empty() {
            Ok((self.steps, self.blocked))
        } else {
            Err(PlanRefusal::NoWayBack(self.no_way_back))
        }
    }

    fn state(&self) -> &'a State {
        self.history.state()
    }

    fn fitting(&self, module: &ModuleName) -> Result<Option<&'a Definition>, PlanRefusal> {
        let fitting = self.definitions.fitting(module, &self.state().identity(module));
        fitting.map_err(|source| PlanRefusal::TwoDefinitions { module: module.clone(), source })
    }

    fn block(&mut self, field: &Field, why: String) {
        self.blocked.push(BlockedField { field: field.clone(), why });
    }

    fn whole_record(
        &self,
        module: &ModuleName,
        record: &RecordName,
        bytes: &HexBytes,
    ) -> Result<WriteDraft, PlanRefusal> {
        let state = self.state().module(module);
        if let Some(state) = state
            && state.records.contains_key(record)
            && state.current_record(record).is_none()
        {
            let field = format!("{module}:{record}");
            return Err(PlanRefusal::CannotSet { field, why: not_read_since(state.renewed) });
        }
        let known = state.and_then(|state| state.current_record(record)).map(|known| known.bytes.clone());
        let told = self.targets.record_was.get(&(module.clone(), record.clone())).cloned();
        if let (Some(known), Some(told)) = (&known, &told)
            && known != told
        {
            let (known, told) = (known.to_string(), told.to_string());
            return Err(PlanRefusal::OtherThanKnown { field: format!("{module}:{record}"), known, told });
        }
        // Where several fit, bytes stay bytes.
        let definition = self.definitions.explaining(module, &self.state().identity(module));
        let length = definition.and_then(|d| d.record(record)).map(|layout| layout.length());
        let expected = length.or(known.as_ref().map(HexBytes::len)).or(told.as_ref().map(HexBytes::len));
        let expect = known.or(told);
        for found in [Some(bytes.len()), expect.as_ref().map(HexBytes::len)].into_iter().flatten() {
            if let Some(expected) = expected.filter(|expected| *expected != found) {
                let (module, record) = (module.clone(), record.clone());
                return Err(PlanRefusal::Length { module, record, expected, found });
            }
        }
        Ok(WriteDraft { expect, write: bytes.as_slice().to_vec() })
    }

    fn setting(&mut self, field: &Field, path: &SettingPath, wanted: WantedContent<'_>) -> Result<(), PlanRefusal> {
        let name = &path.module;
        let nothing = ModuleState::default();
        let known = self.state().module(name).unwrap_or(&nothing);
        let side = ModuleSnapshot { module: known, definition: self.fitting(name)? };
        let defined = side.definition.and_then(|definition| definition.setting(&path.setting));
        let Some(setting) = defined else {
            return self.by_name(field, path, None, side, wanted);
        };
        let key = (name.clone(), setting.record().clone());
        if !self.drafts.contains_key(&key) {
            let Some(record) = known.current_record(setting.record()) else {
                return self.by_name(field, path, defined, side, wanted);
            };
            self.drafts.insert(key.clone(), WriteDraft::of(&record.bytes));
        }
        self.told_agrees(field, side.content(&path.setting).as_ref())?;
        if let WantedContent::Held(_, Some(before)) = wanted
            && let Some(layout_changed) =
                self.history.layout_changed(name, setting.record()).filter(|layout_changed| before <= *layout_changed)
        {
            self.renewed.insert(key.clone(), layout_changed);
        }
        let Some(draft) = self.drafts.get_mut(&key) else { return Ok(()) };
        match draft.put_setting(setting, side.definition, wanted, self.purpose) {
            Ok(()) => Ok(()),
            Err(SettingRefusal::Refused(why)) => Err(PlanRefusal::CannotSet { field: field.to_string(), why }),
            Err(SettingRefusal::Blocked(why)) => {
                self.block(field, why);
                Ok(())
            }
        }
    }

    /// Refuses a value told as found that is not what the journal has.
    fn told_agrees(&self, field: &Field, known: Option<&Content>) -> Result<(), PlanRefusal> {
        if let (Some(told), Some(known)) = (self.targets.was.get(field), known)
            && !known.compare_with_text(&told.to_string()).is_same()
        {
            let (field, known, told) = (field.to_string(), known.to_string(), told.to_string());
            return Err(PlanRefusal::OtherThanKnown { field, known, told });
        }
        Ok(())
    }

    /// A setting whose record nobody has read, or not since the module became what it is.
    fn by_name(
        &mut self,
        field: &Field,
        path: &SettingPath,
        defined: Option<&SettingDefinition>,
        side: ModuleSnapshot<'_>,
        wanted: WantedContent<'_>,
    ) -> Result<(), PlanRefusal> {
        let known = side.content(&path.setting);
        let left = match wanted {
            WantedContent::Chosen(value) => {
                let checked = defined.filter(|_| self.purpose == Purpose::Work).map(|setting| setting.check(value));
                if let Some(Err(why)) = checked {
                    return Err(PlanRefusal::CannotSet { field: field.to_string(), why: why.to_string() });
                }
                Content::stated(defined, &value.to_string())
            }
            WantedContent::Held(content, _) => {
                if content.value().is_none() && !matches!(content, Content::Stated { .. }) {
                    self.block(field, format!("{content} has no meaning that could be set by name"));
                    return Ok(());
                }
                let left = Content::stated(defined, &content.to_string());
                if let (Some(setting), Some(value)) = (defined, left.value())
                    && let Err(why) = setting.layout().coded_for(value)
                {
                    self.block(field, why.to_string());
                    return Ok(());
                }
                if known.is_none() {
                    let unread = defined.is_some_and(|setting| side.module.records.contains_key(setting.record()));
                    self.block(field, if unread { not_read_since(side.module.renewed) } else { NOT_THERE.to_owned() });
                    return Ok(());
                }
                left
            }
        };
        self.told_agrees(field, known.as_ref())?;
        let told = self.targets.was.get(field).map(|value| Content::stated(defined, &value.to_string()));
        let found = known.or(told);
        if found.as_ref().is_some_and(|found| found.same(&left)) {
            return Ok(());
        }
        if found.is_none() && !self.targets.one_way {
            self.no_way_back.push(field.clone());
            return Ok(());
        }
        // What is expected is what the journal has, as it was written.
        let as_written = side.module.stated.get(&path.setting).map(|known| known.value.clone());
        let expect = as_written.or(found.as_ref().map(ToString::to_string));
        let write = Write::ByName { setting: path.setting.clone(), expect, write: left.to_string() };
        let label = defined.map(|setting| setting.label().to_owned());
        let altered = StepSetting { setting: path.setting.clone(), label, found, left };
        self.steps.push(by_name_step(&path.module, side, write, altered));
        Ok(())
    }

    fn bits(
        &mut self,
        field: &Field,
        module: &ModuleName,
        record: &RecordName,
        mask: &BitMask,
        wanted: WantedContent<'_>,
    ) {
        let WantedContent::Held(Content::Bits { bytes, .. }, before) = wanted else { return };
        let state = self.state().module(module);
        let Some(known) = state.and_then(|state| state.current_record(record)) else {
            return self.block(field, not_read_since(state.and_then(|state| state.renewed)));
        };
        let last = || self.history.timeline(field).and_then(|timeline| timeline.last()).map(|step| step.entry);
        let held = before.or_else(last);
        if let Some(layout_changed) = self
            .history
            .layout_changed(module, record)
            .filter(|layout_changed| held.is_none_or(|held| held <= *layout_changed))
        {
            return self
                .block(field, format!("the module has another layout or other software since entry {layout_changed}"));
        }
        let key = (module.clone(), record.clone());
        let draft = self.drafts.entry(key).or_insert_with(|| WriteDraft::of(&known.bytes));
        if bytes.len() == draft.write.len() {
            mask.copy(bytes.as_slice(), &mut draft.write);
        } else {
            self.block(field, "the record's length is another one now".to_owned());
        }
    }

    /// Makes a step of a draft, unless the record is right already.
    fn write(&mut self, module: &ModuleName, record: RecordName, draft: WriteDraft) -> Result<(), PlanRefusal> {
        let nothing = ModuleState::default();
        let known = self.state().module(module).unwrap_or(&nothing);
        let identity = &known.identity;
        let side = ModuleSnapshot { module: known, definition: self.definitions.explaining(module, identity) };
        if draft.expect.is_none() && !self.targets.one_way {
            let mask = BitMask::all(draft.write.len());
            self.no_way_back.push(Field::Undeclared { module: module.clone(), record, mask });
            return Ok(());
        }
        let mut step = record_step(module, side, &record, draft, self.purpose)?;
        if let (Some(step), Err(several)) = (&mut step, self.definitions.fitting(module, identity)) {
            step.take_care_of(several.ids.iter().filter_map(|id| self.definitions.get(id)), &record);
        }
        let renewed = self.renewed.remove(&(module.clone(), record)).zip(side.definition);
        let remark = renewed.map(|(since, definition)| {
            let by = definition.id();
            format!("Since entry {since} the module has another layout or other software: the settings are written through {by}.")
        });
        self.steps.extend(step.map(|mut step| {
            step.remarks.extend(remark);
            step
        }));
        Ok(())
    }
}

const NOT_THERE: &str = "the module has other software now, whose definition does not name the setting";

fn not_read_since(renewed: Option<EntryNumber>) -> String {
    match renewed {
        Some(entry) => {
            format!(
                "entry {entry} shows another unit or other software, and the record was not read since: read it first"
            )
        }
        None => "the record was not read: read it first".to_owned(),
    }
}
