//! Makes steps of targets.

use std::collections::BTreeMap;

use super::care::care;
use super::order::{made, newly_broken, order};
use super::refusal::PlanRefusal;
use super::rules::{RuleBook, RuleBreach};
use super::step::{Step, StepSetting, Write};
use super::target::{Targets, Wanted};
use crate::definition::{Definition, DefinitionSet, SettingDefinition};
use crate::difference::{Content, Side, differ};
use crate::history::{Field, History};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use crate::state::{ModuleState, State};
use crate::value::{BitMask, HexBytes};

/// A field that cannot be brought to what is wanted, and why; the rest of the plan does without it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocked {
    /// The field.
    pub field: Field,
    /// Why.
    pub why: String,
}

/// A list of steps, in an order in which every write is safe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The entry on which the plan stands.
    pub stands_on: EntryNumber,
    /// The steps, in order.
    pub steps: Vec<Step>,
    /// Fields that are as wanted already.
    pub settled: Vec<Field>,
    /// Fields that cannot be brought to what is wanted.
    pub blocked: Vec<Blocked>,
    /// Rules that are broken already, whatever is done.
    pub broken_before: Vec<RuleBreach>,
}

/// Plans how to bring a vehicle to the targets.
///
/// Writes to one record are one step, a record that is right already is not written, rules
/// hold after every write wherever they held before it, restricted records come last.
///
/// # Errors
/// The reason why there is no such plan.
pub fn plan(history: &History, definitions: &DefinitionSet, targets: &Targets) -> Result<Plan, PlanRefusal> {
    let state = history.state();
    let mut work = Composition { history, definitions, targets, blocked: Vec::new() };
    let steps = work.steps()?;
    let blocked = work.blocked;
    if steps.is_empty() && blocked.is_empty() {
        return Err(PlanRefusal::Nothing);
    }
    let book = RuleBook::of(state, definitions);
    let broken_before = book.breaches();
    let mut wanted = book.clone();
    steps.iter().for_each(|step| made(&mut wanted, step));
    let broken = newly_broken(&book.verdicts(), &wanted.verdicts());
    if !broken.is_empty() {
        let names: Vec<_> = broken.iter().map(|at| wanted.name(*at)).collect();
        let breaches = wanted.breaches().into_iter().filter(|breach| names.contains(&&breach.rule)).collect();
        return Err(PlanRefusal::BreaksRules(breaches));
    }
    let steps = order(steps, &book).map_err(PlanRefusal::Knot)?;
    let settled = targets.fields().filter(|field| !moved(&steps, field) && !blocked.iter().any(|b| b.field == **field));
    let settled = settled.cloned().collect();
    let stands_on = state.last.unwrap_or(EntryNumber::FIRST);
    Ok(Plan { stands_on, steps, settled, blocked, broken_before })
}

/// Whether a step alters a field.
fn moved(steps: &[Step], field: &Field) -> bool {
    steps.iter().filter(|step| step.module == *field.module()).any(|step| match field {
        Field::Setting(path) => step.settings.iter().any(|setting| setting.setting == path.setting),
        Field::Undeclared { record, mask, .. } => {
            matches!(&step.write, Write::Record { record: r, .. } if r == record) && step.undeclared.overlaps(mask)
        }
    })
}

struct Composition<'a> {
    history: &'a History,
    definitions: &'a DefinitionSet,
    targets: &'a Targets,
    blocked: Vec<Blocked>,
}

/// What is collected for one record before it becomes a step.
struct Draft {
    expect: Option<HexBytes>,
    write: Vec<u8>,
}

impl<'a> Composition<'a> {
    fn steps(&mut self) -> Result<Vec<Step>, PlanRefusal> {
        let nothing = ModuleState::default();
        let mut drafts: BTreeMap<(ModuleName, RecordName), Draft> = BTreeMap::new();
        let mut steps = Vec::new();
        let mut no_way_back = Vec::new();
        for ((module, record), bytes) in &self.targets.records {
            if let Some(draft) = self.whole_record(module, record, bytes)? {
                drafts.insert((module.clone(), record.clone()), draft);
            }
        }
        for (field, wanted) in &self.targets.fields {
            let name = field.module();
            let known = self.state().module(name).unwrap_or(&nothing);
            let side = Side { module: known, definition: self.fitting(name)? };
            match field {
                Field::Setting(path) => {
                    let defined = side.definition.and_then(|definition| definition.setting(&path.setting));
                    let record = defined.map(SettingDefinition::record).filter(|r| known.records.contains_key(*r));
                    if let (Some(setting), Some(record)) = (defined, record) {
                        let key = (name.clone(), record.clone());
                        let draft = drafts.entry(key).or_insert_with(|| Draft::of(&known.records[record].bytes));
                        self.told_agrees(field, side.content(&path.setting).as_ref())?;
                        self.put_setting(field, setting, side.definition, wanted, draft)?;
                    } else {
                        let step = self.by_name(path, defined, side, wanted, &mut no_way_back)?;
                        steps.extend(step);
                    }
                }
                Field::Undeclared { record, mask, .. } => {
                    let Some(record_known) = known.records.get(record) else { continue };
                    let key = (name.clone(), record.clone());
                    let draft = drafts.entry(key).or_insert_with(|| Draft::of(&record_known.bytes));
                    self.put_bits(field, record, mask, wanted, draft);
                }
            }
        }
        for ((module, record), draft) in drafts {
            steps.extend(self.record_step(&module, record, draft, &mut no_way_back)?);
        }
        if !no_way_back.is_empty() {
            return Err(PlanRefusal::NoWayBack(no_way_back));
        }
        Ok(steps)
    }

    fn state(&self) -> &'a State {
        self.history.state()
    }

    fn fitting(&self, module: &ModuleName) -> Result<Option<&'a Definition>, PlanRefusal> {
        let fitting = self.definitions.fitting(module, &self.state().identity(module));
        fitting.map_err(|source| PlanRefusal::TwoDefinitions { module: module.clone(), source })
    }

    /// Refuses a value told as found that is not what the journal has.
    fn told_agrees(&self, field: &Field, known: Option<&Content>) -> Result<(), PlanRefusal> {
        if let (Some(told), Some(known)) = (self.targets.was.get(field), known)
            && known.to_string() != told.to_string()
        {
            let (field, known, told) = (field.to_string(), known.to_string(), told.to_string());
            return Err(PlanRefusal::OtherThanKnown { field, known, told });
        }
        Ok(())
    }

    fn whole_record(
        &mut self,
        module: &ModuleName,
        record: &RecordName,
        bytes: &HexBytes,
    ) -> Result<Option<Draft>, PlanRefusal> {
        let known = self.state().record(module, record).map(|known| known.bytes.clone());
        let told = self.targets.record_was.get(&(module.clone(), record.clone())).cloned();
        if let (Some(known), Some(told)) = (&known, &told)
            && known != told
        {
            let (known, told) = (known.to_string(), told.to_string());
            return Err(PlanRefusal::OtherThanKnown { field: format!("{module}:{record}"), known, told });
        }
        let definition = self.fitting(module)?;
        let length = definition.and_then(|d| d.record(record)).map(|layout| layout.length());
        let expected = length.or(known.as_ref().map(HexBytes::len)).or(told.as_ref().map(HexBytes::len));
        if let Some(expected) = expected.filter(|expected| *expected != bytes.len()) {
            let (module, record) = (module.clone(), record.clone());
            return Err(PlanRefusal::Length { module, record, expected, found: bytes.len() });
        }
        Ok(Some(Draft { expect: known.or(told), write: bytes.as_slice().to_vec() }))
    }

    fn put_setting(
        &mut self,
        field: &Field,
        setting: &SettingDefinition,
        definition: Option<&Definition>,
        wanted: &Wanted,
        draft: &mut Draft,
    ) -> Result<(), PlanRefusal> {
        let cannot = |why: String| PlanRefusal::CannotSet { field: field.to_string(), why };
        match wanted {
            Wanted::Chosen(value) => {
                setting.check(value).map_err(|why| cannot(why.to_string()))?;
                // Several coded values may be shown as one: what already reads as wanted is left alone.
                if setting.layout().decode(&draft.write).as_ref() != Ok(value) {
                    setting.layout().encode(value, &mut draft.write).map_err(|why| cannot(why.to_string()))?;
                }
                Ok(())
            }
            Wanted::Held(content) => {
                let written = match content {
                    Content::Coded { coded, definition: by, record, .. }
                        if Some(by) == definition.map(Definition::id) && record == setting.record() =>
                    {
                        setting.layout().put_coded(coded, &mut draft.write).map_err(|why| why.to_string())
                    }
                    _ => match content.value() {
                        Some(value) if setting.layout().decode(&draft.write).as_ref() == Ok(value) => Ok(()),
                        Some(value) => setting.layout().encode(value, &mut draft.write).map_err(|why| why.to_string()),
                        None => Err(format!("{content} has no meaning that could be written anew")),
                    },
                };
                if let Err(why) = written {
                    self.blocked.push(Blocked { field: field.clone(), why });
                }
                Ok(())
            }
        }
    }

    fn put_bits(&mut self, field: &Field, record: &RecordName, mask: &BitMask, wanted: &Wanted, draft: &mut Draft) {
        let Wanted::Held(Content::Bits { bytes, .. }) = wanted else { return };
        let relaid = self.history.relaid(field.module(), record);
        let last = self.history.timeline(field).and_then(|timeline| timeline.last()).map(|step| step.entry);
        if relaid > last || bytes.len() != draft.write.len() {
            let why = match relaid {
                Some(entry) => format!("the module's layout is another one since entry {entry}"),
                None => "the record's length is another one now".to_owned(),
            };
            self.blocked.push(Blocked { field: field.clone(), why });
            return;
        }
        mask.copy(bytes.as_slice(), &mut draft.write);
    }

    fn by_name(
        &mut self,
        path: &SettingPath,
        defined: Option<&SettingDefinition>,
        side: Side<'_>,
        wanted: &Wanted,
        no_way_back: &mut Vec<Field>,
    ) -> Result<Option<Step>, PlanRefusal> {
        let field = Field::Setting(path.clone());
        let left = match wanted {
            Wanted::Chosen(value) => {
                if let Some(Err(why)) = defined.map(|setting| setting.check(value)) {
                    return Err(PlanRefusal::CannotSet { field: field.to_string(), why: why.to_string() });
                }
                Content::stated(defined, &value.to_string())
            }
            Wanted::Held(content) => {
                if content.value().is_none() && !matches!(content, Content::Stated { .. }) {
                    let why = format!("{content} has no meaning that could be set by name");
                    self.blocked.push(Blocked { field, why });
                    return Ok(None);
                }
                Content::stated(defined, &content.to_string())
            }
        };
        let known = side.content(&path.setting);
        self.told_agrees(&field, known.as_ref())?;
        let told = self.targets.was.get(&field).map(|value| Content::stated(defined, &value.to_string()));
        let found = known.or(told);
        if found.as_ref().is_some_and(|found| found.same(&left)) {
            return Ok(None);
        }
        if found.is_none() && !self.targets.one_way {
            no_way_back.push(field);
            return Ok(None);
        }
        let write = Write::ByName {
            setting: path.setting.clone(),
            expect: found.as_ref().map(ToString::to_string),
            write: left.to_string(),
        };
        let record = defined.map(SettingDefinition::record);
        let settings = vec![StepSetting {
            setting: path.setting.clone(),
            label: defined.map(|setting| setting.label().to_owned()),
            found,
            left,
        }];
        Ok(Some(finish(&path.module, side, write, settings, BitMask::default(), record)))
    }

    fn record_step(
        &mut self,
        module: &ModuleName,
        record: RecordName,
        mut draft: Draft,
        no_way_back: &mut Vec<Field>,
    ) -> Result<Option<Step>, PlanRefusal> {
        let nothing = ModuleState::default();
        let definition = self.fitting(module)?;
        let layout = definition.and_then(|definition| definition.record(&record));
        if let Some(Err(why)) =
            layout.and_then(|layout| layout.checksum()).map(|checksum| checksum.set(&mut draft.write))
        {
            return Err(PlanRefusal::CannotSet { field: format!("{module}:{record}"), why: why.to_string() });
        }
        let known = self.history.state().module(module).unwrap_or(&nothing);
        let side = Side { module: known, definition };
        let write_bytes = HexBytes::from(draft.write);
        let found = draft.expect.clone();
        let difference =
            found.as_ref().map(|found| differ(&record, definition, found.as_slice(), write_bytes.as_slice()));
        if found.as_ref() == Some(&write_bytes) {
            return Ok(None);
        }
        let (settings, undeclared) = match difference {
            Some(difference) => {
                let settings = difference.settings.into_iter().filter_map(|d| {
                    let label = definition.and_then(|x| x.setting(&d.setting)).map(|s| s.label().to_owned());
                    Some(StepSetting { setting: d.setting, label, found: d.found, left: d.left? })
                });
                (settings.collect::<Vec<_>>(), difference.undeclared)
            }
            None => {
                let decoded = definition.into_iter().flat_map(|d| d.settings_in(&record).map(move |s| (d, s)));
                let settings = decoded.filter_map(|(d, s)| {
                    let left = Content::decoded(s, d.id(), write_bytes.as_slice())?;
                    let (setting, label) = (s.name().clone(), Some(s.label().to_owned()));
                    Some(StepSetting { setting, label, found: None, left })
                });
                (settings.collect(), BitMask::all(write_bytes.len()))
            }
        };
        let write = if known.records.contains_key(&record) {
            let volatile = layout.map_or_else(BitMask::default, |layout| layout.volatile().clone());
            let expect = found.expect("a known record has its bytes as found");
            Write::Record { record: record.clone(), expect, write: write_bytes, volatile }
        } else {
            if found.is_none() && !self.targets.one_way {
                let (module, record, mask) = (module.clone(), record, BitMask::all(write_bytes.len()));
                no_way_back.push(Field::Undeclared { module, record, mask });
                return Ok(None);
            }
            Write::BlindRecord { record: record.clone(), expect: found, write: write_bytes }
        };
        Ok(Some(finish(module, side, write, settings, undeclared, Some(&record))))
    }
}

fn finish(
    module: &ModuleName,
    side: Side<'_>,
    write: Write,
    settings: Vec<StepSetting>,
    undeclared: BitMask,
    record: Option<&RecordName>,
) -> Step {
    let care = care(module, side.definition, record, &settings, &undeclared);
    Step {
        module: module.clone(),
        address: side.module.address,
        write,
        settings,
        undeclared,
        class: care.class,
        restricted: care.restricted,
        cautions: care.cautions,
        definition: side.definition.map(|definition| definition.id().clone()),
    }
}

impl Draft {
    fn of(bytes: &HexBytes) -> Self {
        Self { expect: Some(bytes.clone()), write: bytes.as_slice().to_vec() }
    }
}
