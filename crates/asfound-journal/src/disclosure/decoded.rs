//! Works the settings of disclosed module files out anew, from the records and the definition beside them.

use std::collections::BTreeMap;

use asfound_core::definition::Definition;
use asfound_core::difference::Content;
use asfound_core::identity::Identity;
use asfound_core::names::{DefinitionId, EntryNumber, ModuleName, RecordName, SettingName};
use asfound_core::value::HexBytes;
use serde::Deserialize;

use super::pick::module_of;
use super::{DisclosedEntry, DisclosedFile, DisclosureFinding};

/// What a module file says of bytes and of what they mean.
#[derive(Deserialize)]
struct ModuleRecords {
    definition: Option<DefinitionId>,
    #[serde(default)]
    identity: Identity,
    #[serde(default)]
    records: BTreeMap<RecordName, HexBytes>,
    #[serde(default)]
    settings: BTreeMap<SettingName, String>,
}

impl DisclosedEntry {
    /// What of the settings that its module files state does not follow from the bytes beside them.
    pub(super) fn check_settings(&self, findings: &mut Vec<DisclosureFinding>) {
        for file in &self.files {
            if let Some(module) = module_of(&file.path) {
                self.check_module(module, file, findings);
            }
        }
    }

    fn check_module(&self, module: &str, file: &DisclosedFile, findings: &mut Vec<DisclosureFinding>) {
        let (number, path) = (self.number, file.path.clone());
        let Ok(said) = toml::from_str::<ModuleRecords>(&file.content) else {
            return findings.push(DisclosureFinding::Unreadable { number, path });
        };
        let Some(id) = &said.definition else {
            let unexplained = said.settings.into_keys().map(|setting| differs(number, module, &setting, None));
            return findings.extend(unexplained);
        };
        let Some(definition) = self.definition(id) else {
            return findings.push(DisclosureFinding::Unexplained { number, path, definition: id.clone() });
        };
        let fits = module.parse::<ModuleName>().is_ok_and(|name| definition.applies_to().fits(&name, &said.identity));
        if !fits {
            findings.push(DisclosureFinding::Unexplained { number, path, definition: id.clone() });
        }
        for (setting, value) in said.settings {
            let defined = definition.setting(&setting);
            let bytes = defined.and_then(|defined| Some((defined, said.records.get(defined.record())?)));
            let content = bytes.and_then(|(defined, bytes)| Content::decoded(defined, id, bytes.as_slice()));
            let holds = content.map(|content| content.to_string());
            if holds.as_ref() != Some(&value) {
                findings.push(differs(number, module, &setting, holds));
            }
        }
    }

    /// A definition that is shown with the entry, where it can be used.
    fn definition(&self, id: &DefinitionId) -> Option<Definition> {
        let path = format!("definitions/{id}.toml");
        let file = self.files.iter().find(|file| file.path.as_str() == path)?;
        Definition::parse(&file.content).ok().map(|parsed| parsed.definition)
    }
}

fn differs(number: EntryNumber, module: &str, setting: &SettingName, holds: Option<String>) -> DisclosureFinding {
    DisclosureFinding::SettingDiffers { number, setting: format!("{module}.{setting}"), holds }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Digest;

    const DEFINITION: &str = "format = \"asfound-definition/1\"\nid = \"body-1\"\ntitle = \"Body\"\nsource = \"invented\"\n\
        [applies_to]\nmodule = \"body\"\n[records.0D01]\nlabel = \"Comfort\"\nlength = 1\n\
        [settings.flashes]\nlabel = \"Flashes\"\nrecord = \"0D01\"\nbyte = 0\nbit = 0\nbits = 3\ntype = \"integer\"\n\
        tags = [\"lighting\"]\nabout = \"How often.\"\nsource = \"invented\"\n";

    fn findings(module: &str, definition: Option<&str>) -> Vec<String> {
        let file = |line, path: &str, content: &str| DisclosedFile {
            line,
            path: path.parse().unwrap(),
            blind: Digest::of(b"blind"),
            content: content.to_owned(),
        };
        let mut files = vec![file(1, "modules/body.toml", module)];
        files.extend(definition.map(|text| file(2, "definitions/body-1.toml", text)));
        let entry = DisclosedEntry { number: EntryNumber::FIRST, path: Vec::new(), lines: Vec::new(), files };
        let mut findings = Vec::new();
        entry.check_settings(&mut findings);
        findings.iter().map(|finding| format!("{}: {finding}", finding.kind())).collect()
    }

    #[test]
    fn settings_follow_from_the_bytes_beside_them() {
        let said = |value: &str| {
            format!(
                "definition = \"body-1\"\n[identity]\n[records]\n0D01 = \"05\"\n[settings]\nflashes = \"{value}\"\n"
            )
        };
        assert_eq!(findings(&said("5"), Some(DEFINITION)), Vec::<String>::new());
        assert_eq!(
            findings(&said("3"), Some(DEFINITION)),
            ["setting-differs: entry 1: body.flashes does not follow from the bytes beside it, which say 5"]
        );
        // Of a record that is not there, and by a definition that is not, fits another module or cannot be read.
        let without = said("5").replace("0D01 = \"05\"", "0D02 = \"05\"");
        assert!(findings(&without, Some(DEFINITION))[0].starts_with("setting-differs"));
        assert!(findings(&said("5"), None)[0].starts_with("unexplained"));
        assert!(findings(&said("5"), Some("nonsense"))[0].starts_with("unexplained"));
        let other = DEFINITION.replace("module = \"body\"", "module = \"brakes\"");
        assert!(findings(&said("5"), Some(&other))[0].starts_with("unexplained"));
        assert!(findings("records = 3", Some(DEFINITION))[0].starts_with("unreadable"));
        // Without a definition nothing is decoded; what is known by value alone needs no bytes.
        let bare = "[identity]\n[records]\n0D01 = \"05\"\n";
        assert_eq!(findings(bare, None), Vec::<String>::new());
        assert!(findings(&format!("{bare}[settings]\nflashes = \"5\"\n"), None)[0].starts_with("setting-differs"));
        assert_eq!(findings(&format!("{bare}[settings_by_value_alone]\nhorn = \"on\"\n"), None), Vec::<String>::new());
    }
}
