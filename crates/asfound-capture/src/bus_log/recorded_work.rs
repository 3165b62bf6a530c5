//! The work that the journal recorded, to be found again on the bus.

use asfound_core::definition::DefinitionSet;
use asfound_core::difference::Content;
use asfound_core::entry::{Entry, WireAnswer, WireWrite};
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingName};
use asfound_core::value::HexBytes;
use time::OffsetDateTime;

use super::logged::LoggedWrite;

/// What work left at one place.
enum WorkLeft {
    Record { record: RecordName, found: Option<HexBytes>, left: HexBytes, settings: Vec<SettingName> },
    Setting(SettingName, String),
}

/// One alteration that an entry recorded.
pub(super) struct RecordedWork {
    pub(super) entry: EntryNumber,
    pub(super) happened: OffsetDateTime,
    module: ModuleName,
    left: WorkLeft,
}

/// The alterations of all entries whose work was made.
pub(super) fn works(entries: &[Entry], history: &History) -> Vec<RecordedWork> {
    let mut works = Vec::new();
    for entry in entries.iter().filter(|entry| !history.never_made(entry.number)) {
        let Some(work) = entry.body.work() else { continue };
        let settings = |module: &ModuleName| {
            let here = work.settings.iter().filter(|path| path.module == *module);
            here.map(|path| path.setting.clone()).collect::<Vec<_>>()
        };
        let records = work.effects.records.iter().map(|effect| {
            let (record, found, bytes) = (effect.record.clone(), effect.found.clone(), effect.left.clone());
            let left = WorkLeft::Record { record, found, left: bytes, settings: settings(&effect.module) };
            (effect.module.clone(), left)
        });
        let stated = work.effects.stated.iter().filter_map(|effect| {
            Some((effect.module.clone(), WorkLeft::Setting(effect.setting.clone(), effect.left.clone()?)))
        });
        let (number, happened) = (entry.number, entry.happened);
        works.extend(records.chain(stated).map(|(module, left)| RecordedWork {
            entry: number,
            happened,
            module,
            left,
        }));
    }
    works
}

impl RecordedWork {
    /// The bytes that the entry says were found.
    pub(super) fn found(&self) -> Option<&HexBytes> {
        match &self.left {
            WorkLeft::Record { found, .. } => found.as_ref(),
            WorkLeft::Setting(..) => None,
        }
    }

    /// Whether a write on the bus could be this: the same bytes, or the same in the settings that the entry is about.
    pub(super) fn may_be(&self, write: &WireWrite, history: &History, definitions: &DefinitionSet) -> bool {
        // Where its bytes are not in the log, what was read back tells them.
        let Some(written) = write.written.as_ref().or_else(|| write.left()) else { return false };
        if write.module != self.module || write.answer == WireAnswer::Refused {
            return false;
        }
        match &self.left {
            WorkLeft::Record { record, left, .. } => {
                *record == write.record
                    && (left == written || self.same_settings(left, written, history, definitions) == Some(true))
            }
            WorkLeft::Setting(name, text) => {
                let identity = history.state().identity(&self.module);
                let definition = definitions.fitting(&self.module, &identity).ok().flatten();
                let Some((definition, setting)) = definition.and_then(|it| Some((it, it.setting(name)?))) else {
                    return false;
                };
                *setting.record() == write.record
                    && Content::decoded(setting, definition.id(), written.as_slice())
                        .is_some_and(|content| content.same(&Content::stated(Some(setting), text)))
            }
        }
    }

    /// Whether a write altered what the entry is about, as far as can be told: where the log does not show what was there before,
    /// it may have.
    pub(super) fn altered_by(&self, told: &LoggedWrite, history: &History, definitions: &DefinitionSet) -> bool {
        let (Some(found), Some(written)) = (&told.before, told.write.left()) else { return true };
        match self.same_settings(found, written, history, definitions) {
            Some(same) => !same,
            None => found != written,
        }
    }

    /// Whether two contents of the record are the same in the settings that the entry is about; `None` where it names none of it.
    fn same_settings(
        &self,
        one: &HexBytes,
        other: &HexBytes,
        history: &History,
        definitions: &DefinitionSet,
    ) -> Option<bool> {
        let identity = history.state().identity(&self.module);
        let definition = definitions.fitting(&self.module, &identity).ok().flatten()?;
        let here: Vec<_> = match &self.left {
            WorkLeft::Record { record, settings, .. } => {
                let named = settings.iter().filter_map(|name| definition.setting(name));
                named.filter(|setting| setting.record() == record).collect()
            }
            WorkLeft::Setting(name, _) => definition.setting(name).into_iter().collect(),
        };
        let same = here.iter().all(|setting| {
            let content = |bytes: &HexBytes| Content::decoded(setting, definition.id(), bytes.as_slice());
            content(one).zip(content(other)).is_some_and(|(a, b)| a.same(&b))
        });
        (!here.is_empty()).then_some(same)
    }
}
