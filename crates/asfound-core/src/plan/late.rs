//! Work that was done before something that is known already.

use crate::definition::DefinitionSet;
use crate::entry::{Effects, Moment, WorkBody};
use crate::names::{ModuleName, RecordName, SettingName};
use crate::state::State;

impl State {
    /// Whether a record's content is known of a moment that is certainly later.
    pub fn knows_record_later(&self, module: &ModuleName, record: &RecordName, than: Moment) -> bool {
        let known = self.record(module, record);
        known.is_some_and(|known| than.is_before(&known.known_at))
    }

    /// Whether a setting is known by value of a moment that is certainly later.
    pub fn knows_stated_later(&self, module: &ModuleName, setting: &SettingName, than: Moment) -> bool {
        let known = self.module(module).and_then(|known| known.stated.get(setting));
        known.is_some_and(|known| than.is_before(&known.known_at))
    }

    /// Whether anything is known of a moment that is certainly later.
    pub fn knows_anything_later(&self, than: Moment) -> bool {
        self.modules.values().any(|module| {
            let records = module.records.values().map(|known| known.known_at);
            let stated = module.stated.values().map(|known| known.known_at);
            records.chain(stated).chain(module.renewed_at).any(|at| than.is_before(&at))
        })
    }
}

impl WorkBody {
    /// The same, told of a moment before something that `state` knows: what was altered then and is known of later moves
    /// nothing. Where a module became another unit since, or at a moment that cannot be ordered, that is all of it.
    #[must_use]
    pub fn told_late(mut self, moment: Moment, state: &State, definitions: &DefinitionSet) -> Self {
        let renewed = |module: &ModuleName| {
            let at = state.module(module).and_then(|known| known.renewed_at);
            at.is_some_and(|at| !at.is_before(&moment))
        };
        let told_by_bytes = |module: &ModuleName, setting: &SettingName| {
            let definition = definitions.explaining(module, &state.identity(module));
            let record = definition.and_then(|definition| definition.setting(setting)).map(|defined| defined.record());
            record.is_some_and(|record| state.knows_record_later(module, record, moment))
        };
        let Effects { identities, records, stated } = std::mem::take(&mut self.effects);
        self.effects.identities = identities;
        (self.late.records, self.effects.records) = records.into_iter().partition(|effect| {
            renewed(&effect.module) || state.knows_record_later(&effect.module, &effect.record, moment)
        });
        (self.late.stated, self.effects.stated) = stated.into_iter().partition(|effect| {
            renewed(&effect.module)
                || state.knows_stated_later(&effect.module, &effect.setting, moment)
                || told_by_bytes(&effect.module, &effect.setting)
        });
        self
    }
}
