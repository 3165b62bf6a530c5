//! Many definitions, and the one that fits a module.

use std::collections::BTreeMap;

use thiserror::Error;

use super::{Definition, SettingDefinition};
use crate::identity::Identity;
use crate::names::{DefinitionId, ModuleName, SettingPath};

/// A second definition with a name that is taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("there are two definitions named `{id}`")]
pub struct DuplicateId {
    /// The name.
    pub id: DefinitionId,
}

impl DuplicateId {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        "give one of the two files another id, or remove it"
    }
}

/// More than one definition fits a module, so that nobody can say which one explains its bytes.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("more than one definition fits the module `{module}`: {}", .ids.iter().map(DefinitionId::as_str).collect::<Vec<_>>().join(", "))]
pub struct AmbiguousDefinition {
    /// The module.
    pub module: ModuleName,
    /// The definitions that fit it, two or more, sorted.
    pub ids: Vec<DefinitionId>,
}

impl AmbiguousDefinition {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        "narrow `applies_to` of one of them, or remove it"
    }
}

/// Many definitions, sorted by name.
///
/// Some of them may be spare ones: they are asked only for a module that none of the others fits, and then in the order in
/// which they were taken in.
#[derive(Debug, Clone, Default)]
pub struct DefinitionSet {
    all: BTreeMap<DefinitionId, Definition>,
    spare: Vec<DefinitionId>,
}

impl DefinitionSet {
    /// An empty set.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes in a definition, unless its name is taken.
    pub fn add(&mut self, definition: Definition) -> Result<(), DuplicateId> {
        if self.all.contains_key(definition.id()) {
            return Err(DuplicateId { id: definition.id().clone() });
        }
        self.all.insert(definition.id().clone(), definition);
        Ok(())
    }

    /// Takes in a spare definition, unless its name is taken. It steps in for modules that none of the others fits, and
    /// none of the spare ones that were taken in before it.
    pub fn add_spare(&mut self, definition: Definition) -> Result<(), DuplicateId> {
        let id = definition.id().clone();
        self.add(definition)?;
        self.spare.push(id);
        Ok(())
    }

    /// Takes in a definition in place of the one of its name, which is handed back.
    pub fn replace(&mut self, definition: Definition) -> Option<Definition> {
        self.spare.retain(|id| id != definition.id());
        self.all.insert(definition.id().clone(), definition)
    }

    /// The definition of a name.
    pub fn get(&self, id: &DefinitionId) -> Option<&Definition> {
        self.all.get(id)
    }

    /// Every definition, sorted by name.
    pub fn iter(&self) -> impl Iterator<Item = &Definition> {
        self.all.values()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.all.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// The definition that fits a module, if one does.
    pub fn fitting(
        &self,
        module: &ModuleName,
        identity: &Identity,
    ) -> Result<Option<&Definition>, AmbiguousDefinition> {
        let fits = |definition: &&Definition| definition.applies_to().fits(module, identity);
        let fitting: Vec<&Definition> =
            self.iter().filter(fits).filter(|definition| !self.spare.contains(definition.id())).collect();
        match fitting.as_slice() {
            [] => Ok(self.spare.iter().filter_map(|id| self.get(id)).find(fits)),
            [one] => Ok(Some(one)),
            several => {
                let ids = several.iter().map(|definition| definition.id().clone()).collect();
                Err(AmbiguousDefinition { module: module.clone(), ids })
            }
        }
    }

    /// The definition that explains a module's records: the one that fits it. Where several fit, none of them does, because
    /// nobody can say which is right; the bytes stay as they are.
    pub fn explaining(&self, module: &ModuleName, identity: &Identity) -> Option<&Definition> {
        self.fitting(module, identity).ok().flatten()
    }

    /// The description of a setting in the definition that fits its module; `identity` is that module's.
    pub fn setting(
        &self,
        path: &SettingPath,
        identity: &Identity,
    ) -> Result<Option<&SettingDefinition>, AmbiguousDefinition> {
        let definition = self.fitting(&path.module, identity)?;
        Ok(definition.and_then(|definition| definition.settings().get(&path.setting)))
    }
}
