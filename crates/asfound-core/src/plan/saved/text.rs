//! A saved plan as text.

use std::collections::BTreeMap;

use serde::Serialize;
use time::OffsetDateTime;

use super::{ChangeWish, PLAN_FORMAT, SavedPlan, SavedStep, SavedWrite, Wish};
use crate::entry::{Acknowledgement, PlanId};
use crate::history::Field;
use crate::names::{DefinitionId, EntryNumber, ModuleName, RecordName, RuleName, SettingName, SettingPath, Tag};
use crate::reading::Address;
use crate::safety::{SafetyClass, SafetyTag};
use crate::value::{BitMask, HexBytes};

/// What stands at the head of the file, for whoever opens it.
const HEAD: &str = "\
# A plan that was not carried out when it was saved.
#   asfound plan show FILE                 the work sheet, from the journal as it is now
#   asfound work VEHICLE FILE              walk its steps
#   asfound plan done FILE --why TEXT      file it as carried out
# The wish counts; the steps are for people and other programs.
";

#[derive(Serialize)]
struct PlanForm<'p> {
    format: &'static str,
    id: &'p PlanId,
    vehicle: &'p Tag,
    #[serde(with = "time::serde::rfc3339")]
    made: OffsetDateTime,
    stands_on: EntryNumber,
    wish: WishForm<'p>,
    fields: Fields<'p>,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    acknowledgements: &'p [Acknowledgement],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    steps: Vec<StepForm<'p>>,
}

#[derive(Default, Serialize)]
struct WishForm<'p> {
    #[serde(skip_serializing_if = "Vec::is_empty")]
    allow_for_a_time: Vec<&'p SettingPath>,
    #[serde(skip_serializing_if = "Option::is_none")]
    return_to: Option<EntryNumber>,
    #[serde(skip_serializing_if = "Option::is_none")]
    put_back: Option<PutBackForm<'p>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    change: Option<ChangeForm<'p>>,
}

#[derive(Serialize)]
struct PutBackForm<'p> {
    entries: Vec<EntryNumber>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    keep: Vec<&'p SettingPath>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    choose: BTreeMap<String, &'p str>,
}

#[derive(Serialize)]
struct ChangeForm<'p> {
    #[serde(skip_serializing_if = "Option::is_none")]
    like: Option<&'p Tag>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    one_way: bool,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    settings: BTreeMap<String, &'p str>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    records: BTreeMap<String, &'p HexBytes>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    was: BTreeMap<String, &'p str>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    record_was: BTreeMap<String, &'p HexBytes>,
}

#[derive(Serialize)]
struct Fields<'p> {
    #[serde(skip_serializing_if = "Vec::is_empty")]
    settings: Vec<&'p SettingPath>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    undeclared: Vec<UndeclaredForm<'p>>,
}

#[derive(Serialize)]
struct UndeclaredForm<'p> {
    module: &'p ModuleName,
    record: &'p RecordName,
    /// One group after the other.
    bits: Vec<HexBytes>,
}

#[derive(Serialize)]
struct StepForm<'p> {
    module: &'p ModuleName,
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<Address>,
    #[serde(skip_serializing_if = "Option::is_none")]
    record: Option<&'p RecordName>,
    #[serde(skip_serializing_if = "Option::is_none")]
    setting: Option<&'p SettingName>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expect: Option<String>,
    write: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    volatile_bits: Option<HexBytes>,
    #[serde(skip_serializing_if = "Option::is_none")]
    undeclared_bits: Option<HexBytes>,
    #[serde(skip_serializing_if = "Option::is_none")]
    read_request: Option<HexBytes>,
    #[serde(skip_serializing_if = "Option::is_none")]
    write_request: Option<HexBytes>,
    class: SafetyClass,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    restricted: &'p [SafetyTag],
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    cautions: &'p [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    definition: Option<&'p DefinitionId>,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    remarks: &'p [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    intermediate: Option<IntermediateForm<'p>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    settings: Vec<SettingForm<'p>>,
}

#[derive(Serialize)]
struct IntermediateForm<'p> {
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    rules: &'p [RuleName],
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    for_a_time: &'p [SettingName],
}

#[derive(Serialize)]
struct SettingForm<'p> {
    setting: &'p SettingName,
    #[serde(skip_serializing_if = "Option::is_none")]
    found: Option<&'p str>,
    left: &'p str,
}

impl SavedPlan {
    /// The plan as text, ready for a file.
    pub fn to_text(&self) -> String {
        let form = PlanForm {
            format: PLAN_FORMAT,
            id: &self.id,
            vehicle: &self.vehicle,
            made: self.made,
            stands_on: self.stands_on,
            wish: WishForm { allow_for_a_time: self.for_a_time.iter().collect(), ..wish(&self.wish) },
            fields: fields(&self.fields),
            acknowledgements: &self.acknowledgements,
            steps: self.steps.iter().map(step).collect(),
        };
        let text = toml::to_string_pretty(&form).expect("a plan is made of texts, numbers and tables of them");
        format!("{HEAD}\n{text}")
    }
}

fn wish(wish: &Wish) -> WishForm<'_> {
    match wish {
        Wish::ReturnTo(entry) => WishForm { return_to: Some(*entry), ..WishForm::default() },
        Wish::PutBack { entries, keep, choose } => {
            let put_back = PutBackForm {
                entries: entries.iter().copied().collect(),
                keep: keep.iter().collect(),
                choose: by_setting(choose),
            };
            WishForm { put_back: Some(put_back), ..WishForm::default() }
        }
        Wish::Change(ChangeWish { settings, records, was, record_was, one_way, like }) => {
            let change = ChangeForm {
                like: like.as_ref(),
                one_way: *one_way,
                settings: by_setting(settings),
                records: by_record(records),
                was: by_setting(was),
                record_was: by_record(record_was),
            };
            WishForm { change: Some(change), ..WishForm::default() }
        }
    }
}

fn by_setting(map: &BTreeMap<SettingPath, String>) -> BTreeMap<String, &str> {
    map.iter().map(|(path, text)| (path.to_string(), text.as_str())).collect()
}

fn by_record(map: &BTreeMap<(ModuleName, RecordName), HexBytes>) -> BTreeMap<String, &HexBytes> {
    map.iter().map(|((module, record), bytes)| (format!("{module}:{record}"), bytes)).collect()
}

fn fields(fields: &[Field]) -> Fields<'_> {
    let mut form = Fields { settings: Vec::new(), undeclared: Vec::new() };
    for field in fields {
        match field {
            Field::Setting(path) => form.settings.push(path),
            Field::Undeclared { module, record, mask } => {
                match form.undeclared.last_mut().filter(|last| (last.module, last.record) == (module, record)) {
                    Some(last) => last.bits.push(bits(mask)),
                    None => form.undeclared.push(UndeclaredForm { module, record, bits: vec![bits(mask)] }),
                }
            }
        }
    }
    form
}

fn bits(mask: &BitMask) -> HexBytes {
    HexBytes::from((0..mask.len()).map(|at| mask.byte(at)).collect::<Vec<u8>>())
}

fn step(step: &SavedStep) -> StepForm<'_> {
    let some_bits = |mask: &BitMask| Some(bits(mask)).filter(|_| !mask.is_empty());
    let (record, setting) = match &step.write {
        SavedWrite::Record { record, .. } => (Some(record), None),
        SavedWrite::Setting { setting, .. } => (None, Some(setting)),
    };
    StepForm {
        module: &step.module,
        address: step.address,
        record,
        setting,
        expect: step.expected().map(|said| said.to_string()),
        write: step.wanted().to_string(),
        volatile_bits: some_bits(&step.volatile()),
        undeclared_bits: some_bits(&step.undeclared),
        read_request: step.read_request(),
        write_request: step.write_request(&step.wanted()),
        class: step.class,
        restricted: &step.restricted,
        cautions: &step.cautions,
        definition: step.definition.as_ref(),
        remarks: &step.remarks,
        intermediate: step
            .intermediate
            .as_ref()
            .map(|it| IntermediateForm { rules: &it.rules, for_a_time: &it.for_a_time }),
        settings: step
            .settings
            .iter()
            .map(|setting| SettingForm {
                setting: &setting.setting,
                found: setting.found.as_deref(),
                left: &setting.left,
            })
            .collect(),
    }
}
