//! The life of one setting of one vehicle, read without the rest of its journal.

use std::borrow::Cow;
use std::collections::BTreeSet;

use asfound_core::definition::{AmbiguousDefinition, DefinitionSet, SettingDefinition};
use asfound_core::entry::{Entry, IdentityEffect};
use asfound_core::history::{Field, History, OneSetting, Timeline};
use asfound_core::names::{EntryNumber, SettingPath, Tag};
use asfound_journal::journal::{Journal, JournalError};
use asfound_journal::store::{CommitId, GitStore};

use super::vehicle::closest;
use super::{Session, garage_definitions_of};
use crate::failure::Failure;

/// The life of one setting of one vehicle.
pub struct SettingLife {
    /// The setting.
    pub path: SettingPath,
    /// The same as a field.
    pub field: Field,
    /// What is known of it, and of nothing else.
    pub history: History,
    /// The parts of the entries that bear on it, in order.
    parts: Vec<Entry>,
    /// Its definition, where one fits its module now.
    defined: Option<SettingDefinition>,
    /// Why none explains it, where several fit.
    several: Option<AmbiguousDefinition>,
}

impl SettingLife {
    /// Reads it.
    ///
    /// # Errors
    /// When there is no such vehicle, with the tags that come close; or its journal cannot be read.
    pub fn open(session: &Session<'_>, tag: &Tag, path: &SettingPath) -> Result<Self, Failure> {
        let garage = session.garage()?;
        let journal = Journal::new(garage.store(), tag.clone());
        let tip = journal.tip().map_err(|error| closest(&garage, error))?;
        Self::read(&journal, &tip, path, &garage_definitions_of(&garage, &path.module)?)
    }

    /// Reads it up to `tip`; `garage` are the garage's definitions for its module.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn read(
        journal: &Journal<'_, GitStore>,
        tip: &CommitId,
        path: &SettingPath,
        garage: &DefinitionSet,
    ) -> Result<Self, Failure> {
        journal.reread(|| Self::read_once(journal, tip, path, garage))
    }

    fn read_once(
        journal: &Journal<'_, GitStore>,
        tip: &CommitId,
        path: &SettingPath,
        garage: &DefinitionSet,
    ) -> Result<Self, Failure> {
        let one = OneSetting::new(path.clone(), garage);
        let mut parts = journal.parts_of(tip, &one)?;
        let mut definitions = Cow::Borrowed(garage);
        let effects = parts.iter().filter_map(|entry| entry.body.effects());
        let identities: Vec<&IdentityEffect> = effects.flat_map(|effects| &effects.identities).collect();
        let modules = BTreeSet::from([path.module.clone()]);
        if let Cow::Owned(with) = journal.definitions_for(garage, tip, &modules, &identities)? {
            // A definition that only the journal has may place the setting in another record.
            let elsewhere = OneSetting::new(path.clone(), &with);
            if elsewhere != one {
                parts = journal.parts_of(tip, &elsewhere)?;
            }
            definitions = Cow::Owned(with);
        }
        let mut history = History::trace_one(&parts, &definitions).map_err(JournalError::from)?;
        if !history.is_as_filed() {
            // Where moments are not in order, what is told of the rest of the module bears on it too.
            history = journal.trace(&journal.index()?, &definitions, None)?;
        }
        let identity = history.state().identity(&path.module);
        let defined = definitions.setting(path, &identity).ok().flatten().cloned();
        let several = definitions.fitting(&path.module, &identity).err();
        Ok(Self { path: path.clone(), field: Field::Setting(path.clone()), history, parts, defined, several })
    }

    /// What happened to it; nothing where the journal knows nothing of it.
    pub fn timeline(&self) -> Option<&Timeline> {
        self.history.timeline(&self.field)
    }

    /// What an entry that bears on it says besides.
    pub fn entry(&self, number: EntryNumber) -> Option<&Entry> {
        let at = self.parts.binary_search_by_key(&number, |entry| entry.number).ok()?;
        self.parts.get(at)
    }

    /// The definitions that fit its module, where these are several, so that none explains it.
    pub fn several(&self) -> Option<&AmbiguousDefinition> {
        self.several.as_ref()
    }

    /// Its definition, where one fits its module now.
    pub fn defined(&self) -> Option<&SettingDefinition> {
        self.defined.as_ref()
    }
}
