//! Follows the state: the fold of the entries.

use std::collections::BTreeSet;

use asfound_core::entry::{Body, Effects, Entry};
use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::state::{InvalidEffect, KnownRecord, KnownSetting, State};

/// The state that the entries so far give.
#[derive(Debug, Default)]
pub(super) struct StateFold {
    state: State,
}

impl StateFold {
    /// The state.
    pub(super) fn state(&self) -> &State {
        &self.state
    }

    /// Moves on by an entry, and says what in it does not follow from the state before.
    ///
    /// The entry is then taken at its word, so that those after it are not blamed for it. Its number is not looked at.
    pub(super) fn push(&mut self, entry: &Entry) -> Option<InvalidEffect> {
        self.state.last = EntryNumber::new(entry.number.get() - 1);
        let misfit = self.state.apply(entry).err()?;
        if let Body::Enrolled(vehicle) = &entry.body {
            self.state.vehicle = Some(vehicle.clone());
        }
        if let Some(effects) = entry.body.effects() {
            self.take(entry, effects);
        }
        if let Body::Reading(reading) = &entry.body
            && entry.number > EntryNumber::FIRST
        {
            // What is left of it then can not fail to fit.
            let mut rest = reading.clone();
            rest.effects = Effects::default();
            self.state.last = EntryNumber::new(entry.number.get() - 1);
            let _ = self.state.apply(&Entry { body: Body::Reading(rest), ..entry.clone() });
        }
        self.state.last = Some(entry.number);
        Some(misfit)
    }

    /// Sets everything as the entry left it, whatever it was before.
    fn take(&mut self, by: &Entry, effects: &Effects) {
        let (since, known_at) = (by.number, by.moment());
        for effect in &effects.identities {
            self.state.modules.entry(effect.module.clone()).or_default().identity = effect.left.clone();
        }
        for effect in &effects.records {
            let module = self.state.modules.entry(effect.module.clone()).or_default();
            let record = KnownRecord { bytes: effect.left.clone(), since, read: None, known_at };
            module.records.insert(effect.record.clone(), record);
        }
        for effect in &effects.stated {
            let module = self.state.modules.entry(effect.module.clone()).or_default();
            match effect.left.clone() {
                Some(value) => {
                    module.stated.insert(effect.setting.clone(), KnownSetting { value, since, read: None, known_at });
                }
                None => {
                    module.stated.remove(&effect.setting);
                }
            }
        }
    }
}

/// The modules of which an entry says something that their files show.
pub(super) fn touched(entry: &Entry) -> BTreeSet<ModuleName> {
    let mut modules = BTreeSet::new();
    if let Some(effects) = entry.body.effects() {
        modules.extend(effects.identities.iter().map(|effect| effect.module.clone()));
        modules.extend(effects.records.iter().map(|effect| effect.module.clone()));
        modules.extend(effects.stated.iter().map(|effect| effect.module.clone()));
    }
    if let Body::Reading(reading) = &entry.body {
        modules.extend(reading.covered.keys().cloned());
    }
    modules
}
