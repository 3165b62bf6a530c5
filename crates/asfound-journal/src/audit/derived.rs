//! Holds the files that follow from the entries against what the entries give.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::difference::ModuleSnapshot;
use asfound_core::entry::{Body, Entry};
use asfound_core::names::{DefinitionId, ModuleName};
use asfound_core::state::State;
use serde::Deserialize;

use super::files::{CODES_PATH, CurrentFiles};
use super::fold::touched;
use super::pinned::{Lookup, PinnedDefinitions};
use super::{CodesFault, FindingKind, ModuleFault};
use crate::Digest;
use crate::entry_files::{DecodedSettings, codes_text, module_text_after};

/// What was found of the files that follow from the entries. Only what an entry can have moved is computed again.
#[derive(Debug, Default)]
pub(super) struct DerivedFiles {
    /// The definition that each module's file names.
    named: BTreeMap<ModuleName, Option<DefinitionId>>,
    /// What was decoded of each module's records.
    decoded: BTreeMap<ModuleName, DecodedSettings>,
    /// The trouble codes that the entries give, as text.
    codes: String,
}

#[derive(Deserialize)]
struct NamesDefinition {
    definition: Option<DefinitionId>,
}

fn module_path(module: &ModuleName) -> String {
    format!("modules/{module}.toml")
}

fn module_of(path: &str) -> Option<&str> {
    path.strip_prefix("modules/")?.strip_suffix(".toml")
}

impl DerivedFiles {
    /// Holds the modules' files of an entry against `state`, which is that after the entry.
    pub(super) fn check_modules(
        &mut self,
        entry: &Entry,
        state: &State,
        files: &CurrentFiles,
        pinned: (&PinnedDefinitions, bool),
        findings: &mut Vec<FindingKind>,
    ) {
        let (pinned, definitions_changed) = pinned;
        let mut due: BTreeSet<ModuleName> = touched(entry);
        let changed = files.fresh().map(|(path, _)| path).chain(files.gone());
        for name in changed.filter_map(module_of) {
            match name.parse::<ModuleName>() {
                Ok(module) => {
                    due.insert(module);
                }
                Err(_) => findings.push(FindingKind::UnknownFile(format!("modules/{name}.toml"))),
            }
        }
        if definitions_changed {
            due.extend(state.modules.keys().cloned());
        }
        for module in due {
            let path = module_path(&module);
            let fault = if state.module(&module).is_none() {
                files.has(&path).then_some(ModuleFault::Unknown)
            } else if files.has(&path) {
                self.fault(&module, state, files, pinned)
            } else {
                Some(ModuleFault::Lacking)
            };
            findings.extend(fault.map(|fault| FindingKind::Module { module, fault }));
        }
    }

    /// What is wrong with the file of a module that is known and whose file is there.
    fn fault(
        &mut self,
        module: &ModuleName,
        state: &State,
        files: &CurrentFiles,
        pinned: &PinnedDefinitions,
    ) -> Option<ModuleFault> {
        let path = module_path(module);
        // One that cannot be read was named already.
        let found = files.digest(&path)?;
        let decoded = self.decoded.entry(module.clone()).or_default();
        if let Some(named) = self.named.get(module)
            && expected(module, state, named.as_ref(), pinned, decoded) == Ok(Some(*found))
        {
            return None;
        }
        // A new file, or another definition than before: the file says which.
        let named = match files.content(&path) {
            Some(bytes) => match toml::from_str::<NamesDefinition>(&String::from_utf8_lossy(bytes)) {
                Ok(names) => names.definition,
                Err(_) => return Some(ModuleFault::Differs),
            },
            None => self.named.get(module).cloned().flatten(),
        };
        let fault = match expected(module, state, named.as_ref(), pinned, decoded) {
            Ok(Some(digest)) if digest != *found => Some(ModuleFault::Differs),
            // Without a usable definition nobody can say; that was named already.
            Ok(_) => None,
            Err(fault) => Some(fault),
        };
        self.named.insert(module.clone(), named);
        fault
    }

    /// Holds the trouble codes of an entry against `state`, which is that after the entry.
    pub(super) fn check_codes(
        &mut self,
        entry: &Entry,
        state: &State,
        files: &CurrentFiles,
        findings: &mut Vec<FindingKind>,
    ) {
        let scanned = matches!(&entry.body, Body::Reading(reading)
            if reading.covered.values().any(|covered| covered.trouble_codes.is_some()));
        let changed = files.content(CODES_PATH).is_some() || files.gone().any(|path| path == CODES_PATH);
        if !scanned && !changed {
            return;
        }
        if scanned || self.codes.is_empty() {
            self.codes = codes_text(state);
        }
        let fault = match (self.codes.is_empty(), files.has(CODES_PATH)) {
            (true, true) => Some(CodesFault::Unknown),
            (false, false) => Some(CodesFault::Lacking),
            (true, false) => None,
            (false, true) => {
                let differs = files.digest(CODES_PATH).is_some_and(|found| *found != Digest::of(self.codes.as_bytes()));
                differs.then_some(CodesFault::Differs)
            }
        };
        findings.extend(fault.map(FindingKind::Codes));
    }
}

/// The digest that a module's file should have, explained by the definition that it names; nothing where that one cannot be
/// used.
fn expected(
    module: &ModuleName,
    state: &State,
    named: Option<&DefinitionId>,
    pinned: &PinnedDefinitions,
    decoded: &mut DecodedSettings,
) -> Result<Option<Digest>, ModuleFault> {
    let Some(known) = state.module(module) else { return Ok(None) };
    let definition = match named {
        None => None,
        Some(id) => match pinned.get(id) {
            Lookup::Absent => return Err(ModuleFault::NoDefinition(id.clone())),
            Lookup::Unusable => return Ok(None),
            Lookup::Usable(definition) if !definition.applies_to().fits(module, &known.identity) => {
                return Err(ModuleFault::Unfit(id.clone()));
            }
            Lookup::Usable(definition) => Some(definition),
        },
    };
    Ok(Some(Digest::of(module_text_after(ModuleSnapshot { module: known, definition }, decoded).as_bytes())))
}
