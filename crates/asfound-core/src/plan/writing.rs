//! Makes one step of what is to be written.

use super::care::care;
use super::composition::Purpose;
use super::draft::WriteDraft;
use super::refusal::PlanRefusal;
use super::step::{Step, StepSetting, Write};
use crate::definition::{Definition, SettingDefinition};
use crate::difference::{Content, ModuleSnapshot, differ};
use crate::layout::Checksum;
use crate::names::{ModuleName, RecordName, SettingName};
use crate::safety::SafetyClass;
use crate::value::{BitMask, HexBytes};

/// The step that writes a record; nothing when the record holds what is wanted already, volatile bits apart. A checksum
/// that is wrong by itself is something to write in work on the vehicle; a correction of the journal leaves it alone.
pub(super) fn record_step(
    module: &ModuleName,
    side: ModuleSnapshot<'_>,
    record: &RecordName,
    mut draft: WriteDraft,
    purpose: Purpose,
) -> Result<Option<Step>, PlanRefusal> {
    let layout = side.definition.and_then(|definition| definition.record(record));
    if let Some(Err(why)) = layout.and_then(|layout| layout.checksum()).map(|checksum| checksum.set(&mut draft.write)) {
        return Err(PlanRefusal::CannotSet { field: format!("{module}:{record}"), why: why.to_string() });
    }
    let write = HexBytes::from(draft.write);
    let mended = draft.expect.as_ref().and_then(|found| mends_checksum(layout?.checksum()?, found));
    let (settings, undeclared) = match &draft.expect {
        Some(found) => {
            let difference = differ(record, side.definition, found.as_slice(), write.as_slice());
            if difference.alters_nothing() && (mended.is_none() || purpose == Purpose::Correction) {
                return Ok(None);
            }
            let settings = difference.settings.into_iter().filter_map(|d| {
                let label = side.definition.and_then(|x| x.setting(&d.setting)).map(|s| s.label().to_owned());
                Some(StepSetting { setting: d.setting, label, found: d.found, left: d.left? })
            });
            (settings.collect(), difference.undeclared)
        }
        None => (all_settings(side.definition, record, &write), BitMask::all(write.len())),
    };
    let write = match draft.expect {
        Some(expect) if side.module.records.contains_key(record) => {
            let volatile = layout.map_or_else(BitMask::default, |layout| layout.volatile().clone());
            Write::Record { record: record.clone(), expect, write, volatile }
        }
        expect => Write::BlindRecord { record: record.clone(), expect, write },
    };
    let mut step = step(module, side, write, settings, undeclared, Some(record));
    step.remarks.extend(mended);
    Ok(Some(step))
}

/// That the bytes as found have a wrong checksum, which a write puts right.
fn mends_checksum(checksum: &Checksum, found: &HexBytes) -> Option<String> {
    if checksum.holds(found.as_slice()).ok()? {
        return None;
    }
    let mut right = found.as_slice().to_vec();
    checksum.set(&mut right).ok()?;
    let at = checksum.at()..checksum.at() + checksum.size();
    let shown = |bytes: &[u8]| bytes.get(at.clone()).map(|bytes| HexBytes::from(bytes.to_vec()).to_string());
    let (is, should) = (shown(found.as_slice())?, shown(&right)?);
    Some(format!(
        "The record's checksum is wrong as found: it is {is}, by the definition it should be {should}. The write has the right one."
    ))
}

/// The step that sets one setting by name.
pub(super) fn by_name_step(module: &ModuleName, side: ModuleSnapshot<'_>, write: Write, setting: StepSetting) -> Step {
    let defined = side.definition.and_then(|definition| definition.setting(&setting.setting));
    let record = defined.map(SettingDefinition::record);
    step(module, side, write, vec![setting], BitMask::default(), record)
}

/// Every setting that a definition finds in bytes of which nobody knows what was there before.
fn all_settings(definition: Option<&Definition>, record: &RecordName, write: &HexBytes) -> Vec<StepSetting> {
    let Some(definition) = definition else { return Vec::new() };
    let settings = definition.settings_in(record).filter_map(|setting| {
        let left = Content::decoded(setting, definition.id(), write.as_slice())?;
        let (name, label) = (setting.name().clone(), Some(setting.label().to_owned()));
        Some(StepSetting { setting: name, label, found: None, left })
    });
    settings.collect()
}

impl Step {
    /// Takes the care that each of several definitions asks for, where nobody can say which of them is right.
    pub(super) fn take_care_of<'d>(&mut self, definitions: impl Iterator<Item = &'d Definition>, record: &RecordName) {
        for definition in definitions {
            let care = care(&self.module, Some(definition), Some(record), &[], &self.undeclared);
            self.class = self.class.max(care.class);
            self.restricted.extend(care.restricted);
            self.cautions.extend(
                care.cautions.into_iter().filter(|caution| !self.cautions.contains(caution)).collect::<Vec<_>>(),
            );
        }
        self.restricted.sort_unstable();
        self.restricted.dedup();
    }
}

fn step(
    module: &ModuleName,
    side: ModuleSnapshot<'_>,
    write: Write,
    settings: Vec<StepSetting>,
    undeclared: BitMask,
    record: Option<&RecordName>,
) -> Step {
    let names: Vec<&SettingName> = settings.iter().map(|setting| &setting.setting).collect();
    let care = care(module, side.definition, record, &names, &undeclared);
    let restricted = care.class == SafetyClass::Restricted;
    let remarks = rides_along(side.definition, &settings).filter(|_| restricted).into_iter().collect();
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
        intermediate: None,
        remarks,
    }
}

/// That a restricted write also alters what is not restricted for itself.
fn rides_along(definition: Option<&Definition>, settings: &[StepSetting]) -> Option<String> {
    let lesser: Vec<String> = settings
        .iter()
        .filter_map(|setting| definition?.setting(&setting.setting))
        .filter(|defined| defined.class() != SafetyClass::Restricted)
        .map(|defined| format!("{} ({})", defined.path(), defined.class()))
        .collect();
    (!lesser.is_empty()).then(|| {
        format!("The record also holds what is restricted, and the write carries it; altered in it, not restricted in themselves: {}.", lesser.join(", "))
    })
}
