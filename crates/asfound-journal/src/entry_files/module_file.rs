//! `modules/<module>.toml`: what is known of a module after an entry.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::{Definition, SettingDefinition};
use asfound_core::difference::{Content, ModuleSnapshot};
use asfound_core::identity::Identity;
use asfound_core::names::{DefinitionId, RecordName, SettingName};
use asfound_core::reading::Address;
use asfound_core::state::ModuleState;
use asfound_core::value::HexBytes;
use serde::Serialize;

#[derive(Serialize)]
struct ModuleFile<'m> {
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<Address>,
    #[serde(skip_serializing_if = "Option::is_none")]
    definition: Option<&'m DefinitionId>,
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    refused: &'m BTreeSet<RecordName>,
    identity: &'m Identity,
}

/// A table of texts, below an empty line; nothing where it is empty. TOML as `toml::to_string_pretty` writes it, but most
/// lines of a module are of this kind, and writing them plainly takes a third of the time.
fn put_table<'t>(text: &mut String, name: &str, lines: impl Iterator<Item = (Cow<'t, str>, Cow<'t, str>)>) {
    let mut head = Some(name);
    for (key, value) in lines {
        if let Some(name) = head.take() {
            text.push_str(&format!("\n[{name}]\n"));
        }
        put_key(text, &key);
        text.push_str(" = ");
        if value.bytes().all(|byte| matches!(byte, b' '..=b'~') && byte != b'"' && byte != b'\\') {
            text.extend(["\"", value.as_ref(), "\""]);
        } else {
            text.push_str(&toml::Value::String(value.into_owned()).to_string());
        }
        text.push('\n');
    }
}

/// The names of records and settings are made of letters, digits, `_` and `-`, which TOML takes as they are.
fn put_key(text: &mut String, key: &str) {
    debug_assert!(key.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-')), "{key}");
    text.push_str(key);
}

/// What a definition makes of a module's records, kept from one text to the next, because few records change at a time.
///
/// It follows from the definition and the bytes, and from nothing else: which of it a file says is decided for each file.
#[derive(Debug, Clone, Default)]
pub struct DecodedSettings {
    /// The text of the definition.
    definition: String,
    /// For each setting the bytes that it was read from, and its value as text; nothing where they are too short for it.
    settings: BTreeMap<SettingName, (HexBytes, Option<String>)>,
}

impl DecodedSettings {
    /// Decodes what is new in `module`, which `definition` fits.
    fn update(&mut self, definition: &Definition, module: &ModuleState) {
        if self.definition != definition.text() {
            *self = Self { definition: definition.text().to_owned(), settings: BTreeMap::new() };
        }
        for (name, setting) in definition.settings() {
            let Some(known) = module.records.get(setting.record()) else {
                self.settings.remove(name);
                continue;
            };
            if self.settings.get(name).is_none_or(|(bytes, _)| *bytes != known.bytes) {
                let content = Content::decoded(setting, definition.id(), known.bytes.as_slice());
                self.settings.insert(name.clone(), (known.bytes.clone(), content.map(|content| content.to_string())));
            }
        }
    }

    /// The settings that the file of `module` says: those that are not known by value alone, and whose record was read or
    /// written since the module became another unit or got other software.
    fn told<'s>(
        &'s self,
        definition: &'s Definition,
        module: &'s ModuleState,
    ) -> impl Iterator<Item = (&'s SettingName, &'s str)> {
        let decoded = self.settings.iter().filter_map(|(name, (_, value))| Some((name, value.as_deref()?)));
        decoded.filter(|(name, _)| {
            let record = definition.setting(name).map(SettingDefinition::record);
            !module.stated.contains_key(*name) && record.is_some_and(|record| module.current_record(record).is_some())
        })
    }
}

/// The file as text.
///
/// Records are the truth; `settings` are what the definition named in the file makes of them, one a line, so
/// that a comparison of two entries with ordinary git commands shows what changed by name.
pub fn module_text(side: ModuleSnapshot<'_>) -> String {
    module_text_after(side, &mut DecodedSettings::default())
}

/// As [`module_text`], for the same module again: `decoded` is what was decoded the last time.
pub fn module_text_after(side: ModuleSnapshot<'_>, decoded: &mut DecodedSettings) -> String {
    let module = side.module;
    match side.definition {
        Some(definition) => decoded.update(definition, module),
        None => *decoded = DecodedSettings::default(),
    }
    let file = ModuleFile {
        address: module.address,
        definition: side.definition.map(Definition::id),
        refused: &module.refused,
        identity: &module.identity,
    };
    let mut text = toml::to_string_pretty(&file).expect("a module is made of texts, which TOML can hold");
    let records = module.records.iter();
    put_table(
        &mut text,
        "records",
        records.map(|(name, known)| (name.to_string().into(), known.bytes.to_string().into())),
    );
    let told = side.definition.into_iter().flat_map(|definition| decoded.told(definition, module));
    put_table(&mut text, "settings", told.map(|(name, value)| (name.as_str().into(), value.into())));
    let stated = module.stated.iter();
    put_table(
        &mut text,
        "settings_by_value_alone",
        stated.map(|(name, known)| (name.as_str().into(), known.value.as_str().into())),
    );
    text
}

#[cfg(test)]
mod tests {
    use asfound_core::entry::Moment;
    use asfound_core::names::EntryNumber;
    use asfound_core::state::{KnownRecord, KnownSetting};
    use proptest::prelude::*;
    use time::OffsetDateTime;
    use toml::Table;

    use super::*;

    fn module(records: Vec<(String, Vec<u8>)>, stated: Vec<(String, String)>, serial: Option<String>) -> ModuleState {
        let since = EntryNumber::FIRST;
        let known_at = Moment::new(since, OffsetDateTime::UNIX_EPOCH.into(), OffsetDateTime::UNIX_EPOCH);
        let record = |bytes: Vec<u8>| KnownRecord { bytes: bytes.into(), since, read: None, known_at };
        let setting = |value| KnownSetting { value, since, read: None, known_at };
        ModuleState {
            identity: Identity { serial, ..Identity::default() },
            records: records.into_iter().filter_map(|(name, b)| Some((name.parse().ok()?, record(b)))).collect(),
            stated: stated.into_iter().filter_map(|(name, v)| Some((name.parse().ok()?, setting(v)))).collect(),
            ..ModuleState::default()
        }
    }

    /// The file as the toml crate would write it by itself.
    #[derive(Serialize)]
    struct TomlFile<'m> {
        identity: &'m Identity,
        #[serde(skip_serializing_if = "BTreeMap::is_empty")]
        records: BTreeMap<&'m RecordName, &'m HexBytes>,
        #[serde(skip_serializing_if = "BTreeMap::is_empty")]
        settings_by_value_alone: BTreeMap<&'m SettingName, &'m String>,
    }

    proptest! {
        /// The text is the one that the toml crate writes for the same content, whatever is in the values.
        #[test]
        fn the_text_is_as_the_toml_crate_writes_it(
            records in prop::collection::vec(("[0-9A-F]{4}|[a-z][a-z0-9_]{0,8}", prop::collection::vec(any::<u8>(), 0..9)), 0..4),
            stated in prop::collection::vec(("[a-z][a-z0-9_]{0,8}", r#"[ -~]{0,12}|.{0,6}|[\n\r\t'"\\ é]{0,6}"#), 0..4),
            serial in prop::option::of(".{0,6}"),
        ) {
            let module = module(records, stated, serial);
            let text = module_text(ModuleSnapshot { module: &module, definition: None });
            let whole = TomlFile {
                identity: &module.identity,
                records: module.records.iter().map(|(name, known)| (name, &known.bytes)).collect(),
                settings_by_value_alone: module.stated.iter().map(|(name, known)| (name, &known.value)).collect(),
            };
            prop_assert_eq!(&text, &toml::to_string_pretty(&whole).unwrap());
            prop_assert!(text.parse::<Table>().is_ok());
        }
    }
}
