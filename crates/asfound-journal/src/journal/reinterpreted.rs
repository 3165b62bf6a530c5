//! What a journal reads otherwise when the garage has other definitions.

use std::collections::BTreeSet;

use asfound_core::definition::DefinitionSet;
use asfound_core::difference::{ReinterpretedSetting, reinterpreted};
use asfound_core::names::{ModuleName, SettingPath};
use asfound_core::state::State;

use super::{Journal, JournalError};
use crate::store::Store;

impl<S: Store> Journal<'_, S> {
    /// The settings of some modules that read otherwise, as they are last known, when the garage has the definitions `after`
    /// in place of `before`.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn reinterpreted(
        &self,
        before: &DefinitionSet,
        after: &DefinitionSet,
        modules: &BTreeSet<ModuleName>,
    ) -> Result<Vec<(SettingPath, ReinterpretedSetting)>, JournalError> {
        if self.modules_at(&self.tip()?)?.is_disjoint(modules) {
            return Ok(Vec::new());
        }
        let index = self.index()?;
        let mut state = State::default();
        for filed in self.each(&index) {
            let misfit = |source| JournalError::Misfit { tag: self.tag.clone(), source };
            state.apply(&filed?.entry).map_err(misfit)?;
        }
        let (before, after) = (self.definitions(before, &index)?, self.definitions(after, &index)?);
        let mut found = Vec::new();
        for (name, module) in state.modules.iter().filter(|(name, _)| modules.contains(*name)) {
            let [was, is] = [&before, &after].map(|definitions| definitions.explaining(name, &module.identity));
            let path = |one: &ReinterpretedSetting| SettingPath { module: name.clone(), setting: one.setting.clone() };
            found.extend(reinterpreted(module, was, is).into_iter().map(|one| (path(&one), one)));
        }
        Ok(found)
    }
}
