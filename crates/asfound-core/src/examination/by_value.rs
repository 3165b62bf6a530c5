//! Settings that a reading gives by value.

use std::collections::BTreeMap;

use super::examine::Examination;
use super::problem::ReadingProblem;
use crate::definition::{Definition, SettingDefinition};
use crate::difference::Content;
use crate::entry::StatedEffect;
use crate::layout::DecodeError;
use crate::names::{ModuleName, RecordName, SettingName};
use crate::reading::ModuleReading;
use crate::sameness::compare_values;
use crate::state::ModuleState;
use crate::value::{HexBytes, Value};

impl Examination<'_> {
    /// Settles the settings that the reading gives by value: against the bytes that it gives,
    /// into the bytes that are known, or as values of their own. What was read before the module became another unit or
    /// got other software (`renewed`: in this reading) takes in no value: its layout was another one.
    pub(super) fn stated<'r>(
        &mut self,
        name: &ModuleName,
        said: &ModuleReading,
        known: &'r ModuleState,
        renewed: bool,
        definition: Option<&'r Definition>,
        left: &mut BTreeMap<&'r RecordName, HexBytes>,
    ) -> Vec<StatedEffect>
    where
        Self: 'r,
    {
        let mut effects = Vec::new();
        for (setting, text) in &said.settings {
            let defined = definition.and_then(|definition| definition.setting(setting));
            let value = match defined {
                None => text.clone(),
                Some(defined) => {
                    let Some(value) = self.value(name, defined, text) else { continue };
                    if let Some(bytes) = said.records.get(defined.record()) {
                        self.agree(name, defined, &value, bytes);
                        continue;
                    }
                    let bytes_known = if renewed { None } else { known.current_record(defined.record()) };
                    if let Some(record) = bytes_known {
                        let bytes = left.entry(defined.record()).or_insert_with(|| record.bytes.clone());
                        self.put(name, definition, defined, &value, bytes);
                        continue;
                    }
                    value.to_string()
                }
            };
            let found = known.stated.get(setting).map(|known| known.value.clone());
            // The same said differently moves nothing: what is known keeps the text that it came with.
            let content = |text: &str| Content::stated(defined, text);
            if found.as_ref().is_none_or(|found| !content(found).same(&content(&value))) {
                let (module, setting) = (name.clone(), setting.clone());
                effects.push(StatedEffect { module, setting, found, left: Some(value) });
            }
        }
        // Where bytes have come in, they tell the value from now on.
        let told = |setting: &SettingName| {
            let defined = definition.and_then(|definition| definition.setting(setting));
            defined.is_some_and(|defined| said.records.contains_key(defined.record()))
        };
        for (setting, known) in known.stated.iter().filter(|(setting, _)| told(setting)) {
            let (module, setting) = (name.clone(), setting.clone());
            effects.push(StatedEffect { module, setting, found: Some(known.value.clone()), left: None });
        }
        effects
    }

    fn value(&mut self, module: &ModuleName, setting: &SettingDefinition, text: &str) -> Option<Value> {
        match setting.layout().parse_value(text) {
            Ok(value) => {
                self.permitted(module, setting, &value);
                Some(value)
            }
            Err(why) => {
                self.refuse_value(module, setting, text, why.to_string());
                None
            }
        }
    }

    fn refuse_value(&mut self, module: &ModuleName, setting: &SettingDefinition, value: &str, why: String) {
        self.problems.push(ReadingProblem::Value {
            module: module.clone(),
            setting: setting.name().clone(),
            value: value.to_owned(),
            why,
        });
    }

    fn agree(&mut self, module: &ModuleName, setting: &SettingDefinition, value: &Value, bytes: &HexBytes) {
        let by_bytes = match setting.layout().decode(bytes.as_slice()) {
            Ok(by_bytes) if !compare_values(&by_bytes, value, true).is_different() => return,
            Ok(by_bytes) => by_bytes.to_string(),
            Err(DecodeError::NoMeaning { coded, .. }) => format!("{coded} (no meaning)"),
            // The length was reported already.
            Err(DecodeError::TooShort { .. }) => return,
        };
        self.problems.push(ReadingProblem::Contradiction {
            module: module.clone(),
            setting: setting.name().clone(),
            value: value.to_string(),
            record: setting.record().clone(),
            byte: setting.layout().placement().byte(),
            by_bytes,
        });
    }

    /// Puts a value into known bytes, so that a reading by value alone moves just that setting.
    fn put(
        &mut self,
        module: &ModuleName,
        definition: Option<&Definition>,
        setting: &SettingDefinition,
        value: &Value,
        bytes: &mut HexBytes,
    ) {
        // A coded value may stand for the same shown value as another: what agrees is left alone.
        if setting.layout().decode(bytes.as_slice()).is_ok_and(|held| compare_values(&held, value, true).is_same()) {
            return;
        }
        let mut raw = bytes.as_slice().to_vec();
        match setting.layout().encode(value, &mut raw) {
            Ok(()) => {
                let checksum = definition.and_then(|d| d.record(setting.record())?.checksum());
                if let Some(Err(why)) = checksum.map(|checksum| checksum.set(&mut raw)) {
                    self.refuse_value(module, setting, &value.to_string(), why.to_string());
                }
                *bytes = HexBytes::from(raw);
            }
            Err(why) => self.refuse_value(module, setting, &value.to_string(), why.to_string()),
        }
    }
}
