//! The definitions that explain a journal: the garage's, and those that the journal carries.

use std::borrow::Cow;
use std::collections::BTreeSet;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::IdentityEffect;
use asfound_core::identity::Identity;
use asfound_core::names::{DefinitionId, ModuleName};
use serde::Deserialize;

use super::{EntryIndex, Journal, JournalError};
use crate::store::{CommitId, Store};

/// What a module's file says of its definition.
#[derive(Deserialize)]
struct NamesDefinition {
    definition: Option<DefinitionId>,
}

impl<S: Store> Journal<'_, S> {
    /// The definitions that explain the entries of a roll: the garage's, and as spare ones those that its last entry
    /// carries, where a module needs one.
    ///
    /// The garage's come first: a better definition explains old entries better. Among those that the journal carries, the
    /// one that a module's file names comes first. One whose name is taken in the garage is left out.
    ///
    /// # Errors
    /// When a definition that the journal carries is needed, and cannot be read.
    pub fn definitions<'g>(
        &self,
        garage: &'g DefinitionSet,
        index: &EntryIndex,
    ) -> Result<Cow<'g, DefinitionSet>, JournalError> {
        let Some(last) = index.last().and_then(|last| index.commit(last)) else { return Ok(Cow::Borrowed(garage)) };
        let modules: BTreeSet<ModuleName> = self.modules_at(&last)?;
        let identities: Vec<&IdentityEffect> = index.identities().iter().collect();
        self.definitions_for(garage, &last, &modules, &identities)
    }

    /// The same for some modules, whose identities are known from `identities`.
    ///
    /// # Errors
    /// When a definition that the journal carries is needed, and cannot be read.
    pub fn definitions_for<'g>(
        &self,
        garage: &'g DefinitionSet,
        last: &CommitId,
        modules: &BTreeSet<ModuleName>,
        identities: &[&IdentityEffect],
    ) -> Result<Cow<'g, DefinitionSet>, JournalError> {
        let unknown = Identity::default();
        let needs_one = |module: &ModuleName| {
            let mut known = identities.iter().filter(|effect| effect.module == *module).peekable();
            let unfit = |identity: &Identity| matches!(garage.fitting(module, identity), Ok(None));
            // What never said who it is may still be explained by a definition that asks for nothing.
            if known.peek().is_none() { unfit(&unknown) } else { known.any(|effect| unfit(&effect.left)) }
        };
        let needing: Vec<&ModuleName> = modules.iter().filter(|module| needs_one(module)).collect();
        if needing.is_empty() {
            return Ok(Cow::Borrowed(garage));
        }
        let mut carried = self.carried(last, garage)?;
        if carried.is_empty() {
            return Ok(Cow::Borrowed(garage));
        }
        let named = self.named_at(last, &needing);
        carried.sort_by_key(|definition| !named.contains(definition.id()));
        let mut definitions = garage.clone();
        for definition in carried {
            if needing.contains(&definition.module()) {
                // No name is there twice: those that the garage has were left out.
                let _ = definitions.add_spare(definition);
            }
        }
        Ok(Cow::Owned(definitions))
    }

    /// The modules that have a file at an entry.
    pub(super) fn modules_at(&self, commit: &CommitId) -> Result<BTreeSet<ModuleName>, JournalError> {
        let listing = self.listing(commit)?;
        let names = listing.files.keys().filter_map(|path| path.strip_prefix("modules/")?.strip_suffix(".toml"));
        Ok(names.filter_map(|name| name.parse().ok()).collect())
    }

    /// The definitions that an entry carries, without those whose name the garage has for its own.
    fn carried(&self, commit: &CommitId, garage: &DefinitionSet) -> Result<Vec<Definition>, JournalError> {
        let listing = self.listing(commit)?;
        let mut carried = Vec::new();
        for (path, blob) in &listing.files {
            let Some(name) = path.strip_prefix("definitions/").and_then(|name| name.strip_suffix(".toml")) else {
                continue;
            };
            if name.parse().is_ok_and(|id| garage.get(&id).is_some()) {
                continue;
            }
            let bytes = self.store.read(blob)?;
            let parsed = std::str::from_utf8(&bytes).ok().and_then(|text| Definition::parse_pinned(text).ok());
            let unreadable = || JournalError::damaged(&self.tag, commit, &format!("{path} cannot be read"));
            carried.push(parsed.ok_or_else(unreadable)?.definition);
        }
        Ok(carried)
    }

    /// The definitions that the files of modules name at an entry.
    fn named_at(&self, commit: &CommitId, modules: &[&ModuleName]) -> BTreeSet<DefinitionId> {
        let mut named = BTreeSet::new();
        for module in modules {
            let Ok(bytes) = self.store.file(commit, &format!("modules/{module}.toml")) else { continue };
            let text = String::from_utf8_lossy(&bytes);
            named.extend(toml::from_str::<NamesDefinition>(&text).ok().and_then(|names| names.definition));
        }
        named
    }
}
