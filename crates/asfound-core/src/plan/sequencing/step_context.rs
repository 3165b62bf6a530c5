//! Makes steps of what was ordered.

use std::collections::BTreeSet;

use super::phase::OrderedWrites;
use super::writable::{AlteredSetting, FOUND, HeldValue, WANTED, Writable};
use crate::definition::{Definition, DefinitionSet, SettingDefinition};
use crate::difference::{Content, ModuleSnapshot};
use crate::names::{ModuleName, SettingPath};
use crate::plan::composition::Purpose;
use crate::plan::draft::WriteDraft;
use crate::plan::refusal::PlanRefusal;
use crate::plan::rules::RuleBook;
use crate::plan::step::{Intermediate, Step, StepSetting, Write};
use crate::plan::writing::{by_name_step, record_step};
use crate::safety::SafetyClass;
use crate::state::{ModuleState, State};
use crate::value::HexBytes;

/// What steps are made of: what is known of the vehicle, and the definitions that fit it.
pub(in crate::plan) struct StepContext<'m> {
    pub(in crate::plan) state: &'m State,
    pub(in crate::plan) definitions: &'m DefinitionSet,
    /// Settings that may be altered for a time though nothing is wanted of them.
    pub(in crate::plan) spare: &'m BTreeSet<SettingPath>,
}

impl<'m> StepContext<'m> {
    fn fitting(&self, module: &ModuleName) -> Option<&'m Definition> {
        self.definitions.explaining(module, &self.state.module(module)?.identity)
    }

    pub(super) fn defined(&self, path: &SettingPath) -> Option<&'m SettingDefinition> {
        self.fitting(&path.module)?.setting(&path.setting)
    }

    /// Lets a setting that is not altered be altered for a time: in the writable of its record, or as one of its own. Tells
    /// whether that can be: its content must be known, and its record written in the phase that `restricted` says.
    pub(super) fn spare(&self, path: &SettingPath, restricted: bool, writables: &mut Vec<Writable<'m>>) -> bool {
        let (Some(module), Some(defined)) = (self.state.module(&path.module), self.defined(path)) else { return false };
        let side = ModuleSnapshot { module, definition: self.fitting(&path.module) };
        let Some(content) = side.content(&path.setting) else { return false };
        let value = RuleBook::value_in(&content);
        let altered = AlteredSetting {
            path: path.clone(),
            found: value.clone(),
            wanted: value,
            defined: Some(defined),
            spare: true,
        };
        let record = defined.record();
        let known = module.current_record(record);
        let restricts = |step: &Step| step.class == SafetyClass::Restricted;
        let same = |step: &Step| {
            step.module == path.module && matches!(&step.write, Write::Record { record: it, .. } if it == record)
        };
        if let Some(writable) = writables.iter_mut().find(|writable| same(&writable.step)) {
            writable.settings.push(altered);
            return true;
        }
        let label = Some(defined.label().to_owned());
        let setting = StepSetting { setting: path.setting.clone(), label, found: Some(content.clone()), left: content };
        let write = match known {
            Some(known) => {
                let volatile = side.definition.and_then(|it| it.record(record)).map(|it| it.volatile().clone());
                let (expect, write) = (known.bytes.clone(), known.bytes.clone());
                Write::Record { record: record.clone(), expect, write, volatile: volatile.unwrap_or_default() }
            }
            None => {
                let text = setting.left.to_string();
                Write::ByName { setting: path.setting.clone(), expect: Some(text.clone()), write: text }
            }
        };
        let step = by_name_step(&path.module, side, write, setting);
        if restricts(&step) != restricted {
            return false;
        }
        writables.push(Writable {
            module: path.module.clone(),
            restricted,
            step,
            spare: true,
            settings: vec![altered],
        });
        true
    }

    /// The steps of a phase.
    pub(super) fn steps(
        &self,
        writables: &[Writable<'_>],
        ordered: &OrderedWrites,
        book: &RuleBook<'_>,
    ) -> Result<Vec<Step>, PlanRefusal> {
        let mut written = BTreeSet::new();
        let mut held: Vec<u8> = ordered.contents.iter().map(|contents| contents.start).collect();
        let mut steps = Vec::new();
        for write in &ordered.writes {
            let (from, to) = (std::mem::replace(&mut held[write.writable], write.content), write.content);
            let again = !written.insert(write.writable);
            let writable = &writables[write.writable];
            if (from, to, again) == (FOUND, WANTED, false) {
                steps.push(writable.step.clone());
                continue;
            }
            let list = &ordered.contents[write.writable].list;
            let (from, to_held) = (&list[usize::from(from)], &list[usize::from(to)]);
            let Some(mut step) = self.between(writable, (from, again), to_held)? else { continue };
            if to != WANTED {
                let rules = ordered.split_writes.iter().find(|(at, _)| *at == write.writable);
                let rules = rules.into_iter().flat_map(|(_, rules)| rules.iter().map(|rule| book.name(*rule).clone()));
                let settings = writable.settings.iter().zip(to_held);
                let for_a_time = settings.filter(|(_, held)| matches!(held, HeldValue::Other(_)));
                let for_a_time = for_a_time.map(|(setting, _)| setting.path.setting.clone()).collect();
                step.intermediate = Some(Intermediate { rules: rules.collect(), for_a_time });
            }
            steps.push(step);
        }
        Ok(steps)
    }

    /// The step from one content of a writable, which the plan may have written before (`again`), to another.
    fn between(
        &self,
        writable: &Writable<'_>,
        (from, again): (&[HeldValue], bool),
        to: &[HeldValue],
    ) -> Result<Option<Step>, PlanRefusal> {
        let nothing = ModuleState::default();
        let name = &writable.module;
        let module = self.state.module(name).unwrap_or(&nothing);
        let side = ModuleSnapshot { module, definition: self.fitting(name) };
        match &writable.step.write {
            Write::Record { record, expect, write, .. } => {
                let layout = side.definition.and_then(|definition| definition.record(record));
                let bytes = |held: &[HeldValue]| -> Result<Vec<u8>, PlanRefusal> {
                    let mut bytes = put(writable, held, expect, write)?;
                    if let Some(checksum) = layout.and_then(|layout| layout.checksum()) {
                        let set = checksum.set(&mut bytes);
                        set.map_err(|why| cannot(&format!("{name}:{record}"), &why.to_string()))?;
                    }
                    Ok(bytes)
                };
                // As it was found, a checksum may be wrong; nothing is written with a wrong one.
                let from = if again { HexBytes::from(bytes(from)?) } else { expect.clone() };
                let draft = WriteDraft { expect: Some(from), write: bytes(to)? };
                record_step(name, side, record, draft, Purpose::Work)
            }
            Write::ByName { setting, expect, write } => {
                let text = |held: &HeldValue| match held {
                    HeldValue::Found => expect.clone(),
                    HeldValue::Wanted => Some(write.clone()),
                    HeldValue::Other(value) => Some(value.to_string()),
                };
                let ([from, ..], [to, ..]) = (from, to) else { return Ok(None) };
                let Some(left) = text(to) else { return Ok(None) };
                let defined = side.definition.and_then(|definition| definition.setting(setting));
                let content = |text: &String| Content::stated(defined, text);
                let label = defined.map(|setting| setting.label().to_owned());
                let found = text(from);
                let altered = StepSetting {
                    setting: setting.clone(),
                    label,
                    found: found.as_ref().map(content),
                    left: content(&left),
                };
                let write = Write::ByName { setting: setting.clone(), expect: found, write: left };
                Ok(Some(by_name_step(name, side, write, altered)))
            }
            Write::BlindRecord { .. } => Ok(None),
        }
    }
}

/// The bytes of a content, without their checksum.
fn put(
    writable: &Writable<'_>,
    held: &[HeldValue],
    found: &HexBytes,
    wanted: &HexBytes,
) -> Result<Vec<u8>, PlanRefusal> {
    let settled = |setting: &AlteredSetting<'_>, held: &HeldValue| {
        *held == HeldValue::Wanted || setting.spare && *held == HeldValue::Found
    };
    if held.iter().zip(&writable.settings).all(|(held, setting)| settled(setting, held)) {
        return Ok(wanted.as_slice().to_vec());
    }
    let mut bytes = found.as_slice().to_vec();
    for (setting, held) in writable.settings.iter().zip(held) {
        let Some(defined) = setting.defined else { continue };
        let layout = defined.layout();
        let put = match held {
            HeldValue::Found => Ok(()),
            HeldValue::Wanted => match layout.coded(wanted.as_slice()) {
                Ok(coded) => layout.put_coded(&coded, &mut bytes).map_err(|why| why.to_string()),
                Err(why) => Err(why.to_string()),
            },
            HeldValue::Other(value) => layout.encode(value, &mut bytes).map_err(|why| why.to_string()),
        };
        put.map_err(|why| cannot(&setting.path.to_string(), &why))?;
    }
    Ok(bytes)
}

fn cannot(field: &str, why: &str) -> PlanRefusal {
    PlanRefusal::CannotSet { field: field.to_owned(), why: why.to_owned() }
}
