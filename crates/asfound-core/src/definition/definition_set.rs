//! Many definitions, and the one that fits a module.

use std::collections::BTreeMap;

use thiserror::Error;

use super::{Definition, Identity, SettingDefinition};
use crate::names::{DefinitionId, ModuleName, SettingPath};

/// A second definition with a name that is taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("there are two definitions named `{id}`")]
pub struct SameId {
    /// The name.
    pub id: DefinitionId,
}

impl SameId {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        "give one of the two files another id, or remove it"
    }
}

/// More than one definition fits a module, so that nobody can say which one explains its bytes.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("more than one definition fits the module `{module}`: {}", .ids.iter().map(DefinitionId::as_str).collect::<Vec<_>>().join(", "))]
pub struct TwoFit {
    /// The module.
    pub module: ModuleName,
    /// The definitions that fit it, two or more, sorted.
    pub ids: Vec<DefinitionId>,
}

impl TwoFit {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        "narrow `applies_to` of one of them, or remove it"
    }
}

/// Many definitions, sorted by name.
#[derive(Debug, Clone, Default)]
pub struct DefinitionSet(BTreeMap<DefinitionId, Definition>);

impl DefinitionSet {
    /// An empty set.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes in a definition, unless its name is taken.
    pub fn add(&mut self, definition: Definition) -> Result<(), SameId> {
        if self.0.contains_key(definition.id()) {
            return Err(SameId { id: definition.id().clone() });
        }
        self.0.insert(definition.id().clone(), definition);
        Ok(())
    }

    /// The definition of a name.
    pub fn get(&self, id: &DefinitionId) -> Option<&Definition> {
        self.0.get(id)
    }

    /// Every definition, sorted by name.
    pub fn iter(&self) -> impl Iterator<Item = &Definition> {
        self.0.values()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The definition that fits a module, if one does.
    pub fn fitting(&self, module: &ModuleName, identity: &Identity) -> Result<Option<&Definition>, TwoFit> {
        let fitting: Vec<&Definition> =
            self.iter().filter(|definition| definition.applies_to().fits(module, identity)).collect();
        match fitting.as_slice() {
            [] => Ok(None),
            [one] => Ok(Some(one)),
            several => {
                let ids = several.iter().map(|definition| definition.id().clone()).collect();
                Err(TwoFit { module: module.clone(), ids })
            }
        }
    }

    /// The description of a setting in the definition that fits its module; `identity` is that module's.
    pub fn setting(&self, path: &SettingPath, identity: &Identity) -> Result<Option<&SettingDefinition>, TwoFit> {
        let definition = self.fitting(&path.module, identity)?;
        Ok(definition.and_then(|definition| definition.settings().get(&path.setting)))
    }
}
