//! What a saved plan is for, in the words of whoever asked for it.

use std::collections::{BTreeMap, BTreeSet};

use crate::definition::DefinitionSet;
use crate::entry::{Body, PutBackOf, WorkBody};
use crate::history::{Field, History, Origin};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath, Tag};
use crate::plan::{NamedSetting, PlanRefusal, PutBackWish, Targets, put_back};
use crate::value::{HexBytes, Value};

/// Settings and records that are to be altered, with values as they were typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ChangeWish {
    /// Settings, and what they should hold.
    pub settings: BTreeMap<SettingPath, String>,
    /// Records, and what they should hold.
    pub records: BTreeMap<(ModuleName, RecordName), HexBytes>,
    /// Settings as found, as told.
    pub was: BTreeMap<SettingPath, String>,
    /// Records as found, as told.
    pub record_was: BTreeMap<(ModuleName, RecordName), HexBytes>,
    /// Whether there need be no way back.
    pub one_way: bool,
    /// The vehicle that has these values, where it is to become like another one. The values count.
    pub like: Option<Tag>,
}

/// What a saved plan is for. It is kept, and the steps are worked out anew from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wish {
    /// Entries are to be taken back.
    PutBack {
        /// The entries.
        entries: BTreeSet<EntryNumber>,
        /// Settings that keep their present value.
        keep: BTreeSet<SettingPath>,
        /// Settings for which another value is chosen.
        choose: BTreeMap<SettingPath, String>,
    },
    /// Everything later than an entry is to be taken back.
    ReturnTo(EntryNumber),
    /// Values are to be set.
    Change(ChangeWish),
}

impl Wish {
    /// What it is about, in a few words.
    pub fn aim(&self) -> String {
        match self {
            Self::PutBack { entries, .. } => {
                let list: Vec<String> = entries.iter().map(ToString::to_string).collect();
                format!("put back {} {}", if list.len() == 1 { "entry" } else { "entries" }, list.join(", "))
            }
            Self::ReturnTo(entry) => format!("return to entry {entry}"),
            Self::Change(ChangeWish { like: Some(other), .. }) => format!("make like {other}"),
            Self::Change(_) => "change".to_owned(),
        }
    }

    /// What an entry holds in which the work was done.
    pub fn body(&self, work: WorkBody) -> Body {
        match self {
            Self::PutBack { entries, .. } => Body::PutBack(PutBackOf::Entries(entries.iter().copied().collect()), work),
            Self::ReturnTo(entry) => Body::PutBack(PutBackOf::ReturnTo(*entry), work),
            Self::Change(_) => Body::Change(work),
        }
    }

    /// The targets, worked out against the journal as it is. `stood_on` is the entry on which the plan stood when it
    /// was saved: what came later is left alone, except for the entries in `own`, in which parts of this very plan
    /// were carried out; whatever went wrong in them is set right.
    ///
    /// # Errors
    /// As for putting back; and when a value is none that its setting can hold.
    pub(super) fn targets<'h>(
        &self,
        history: &'h History,
        definitions: &DefinitionSet,
        stood_on: EntryNumber,
        own: &BTreeSet<EntryNumber>,
    ) -> Result<Targets<'h>, PlanRefusal> {
        let own: BTreeSet<EntryNumber> = own.iter().copied().filter(|entry| altered(history, *entry)).collect();
        match self {
            Self::PutBack { entries, keep, choose } => {
                let mut chosen = BTreeMap::new();
                for (path, text) in choose {
                    chosen.insert(path.clone(), value((history, definitions), path, text, (true, false))?);
                }
                let entries = entries.union(&own).copied().collect();
                put_back(history, &PutBackWish { entries, keep: keep.clone(), choose: chosen })
            }
            Self::ReturnTo(entry) => {
                let later = history.timelines().values().flat_map(|timeline| timeline.transitions());
                let later = later.filter(|step| step.origin != Origin::FirstKnown).map(|step| step.entry);
                let after = |later: &EntryNumber| history.place_of(*later) > history.place_of(*entry);
                let later = later.filter(|later| after(later) && (*later <= stood_on || own.contains(later)));
                put_back(history, &PutBackWish { entries: later.collect(), ..PutBackWish::default() })
            }
            Self::Change(wish) => wish.targets(history, definitions, &own),
        }
    }
}

/// Whether an entry altered something, and is not said to be never made.
fn altered(history: &History, entry: EntryNumber) -> bool {
    !history.never_made(entry) && history.transitions_of(entry).any(|(_, step)| step.origin != Origin::FirstKnown)
}

impl ChangeWish {
    fn targets<'h>(
        &self,
        history: &'h History,
        definitions: &DefinitionSet,
        own: &BTreeSet<EntryNumber>,
    ) -> Result<Targets<'h>, PlanRefusal> {
        let mut targets = Targets::new();
        for (field, timeline) in history.timelines() {
            let first = timeline.transitions().iter().find(|step| own.contains(&step.entry));
            if let Some(found) = first.and_then(|step| step.found.as_ref())
                && !self.is_about(history, definitions, field)
            {
                targets.restore(field, found);
            }
        }
        for (path, text) in &self.settings {
            targets.choose(
                Field::Setting(path.clone()),
                value((history, definitions), path, text, (true, self.was.contains_key(path)))?,
            );
        }
        for ((module, record), bytes) in &self.records {
            targets.choose_record(module.clone(), record.clone(), bytes.clone());
        }
        // What was told as found was so before the first part of the plan was carried out.
        for (path, text) in &self.was {
            let field = Field::Setting(path.clone());
            let last = history.timeline(&field).and_then(|timeline| timeline.last());
            if !last.is_some_and(|step| own.contains(&step.entry)) {
                targets.tell_was(field, value((history, definitions), path, text, (false, true))?);
            }
        }
        for ((module, record), bytes) in &self.record_was {
            let known = history.state().record(module, record);
            if !known.is_some_and(|known| own.contains(&known.since)) {
                targets.tell_record_was(module.clone(), record.clone(), bytes.clone());
            }
        }
        if self.one_way {
            targets.allow_one_way();
        }
        Ok(targets)
    }

    /// Whether something is wished of a field, or of the whole record that it is in.
    fn is_about(&self, history: &History, definitions: &DefinitionSet, field: &Field) -> bool {
        let wished = |record: &RecordName| self.records.contains_key(&(field.module().clone(), record.clone()));
        match field {
            Field::Undeclared { record, .. } => wished(record),
            Field::Setting(path) => {
                let identity = history.state().identity(&path.module);
                let defined = definitions.setting(path, &identity).ok().flatten();
                self.settings.contains_key(path) || defined.is_some_and(|setting| wished(setting.record()))
            }
        }
    }
}

/// A value as typed, held against the definition that fits now. Where none does, it stays text. It need not be permitted
/// where that is not asked for; `told` says whether somebody tells what the setting was as found.
fn value(
    (history, definitions): (&History, &DefinitionSet),
    path: &SettingPath,
    text: &str,
    (permitted_only, told): (bool, bool),
) -> Result<Value, PlanRefusal> {
    let cannot = |why: String| PlanRefusal::CannotSet { field: path.to_string(), why };
    let named = NamedSetting::look_up(history.state(), definitions, path);
    let named = named.map_err(|source| PlanRefusal::TwoDefinitions { module: path.module.clone(), source })?;
    let setting = match if told { named.told() } else { named } {
        NamedSetting::Defined(setting) => setting,
        NamedSetting::ByValue => return Ok(Value::Text(text.to_owned())),
        NamedSetting::Unknown { definition, .. } => return Err(cannot(format!("{definition} has no such setting"))),
    };
    if permitted_only {
        setting.parse_value(text).map_err(|error| cannot(error.to_string()))
    } else {
        setting.layout().parse_value(text).map_err(|error| cannot(error.to_string()))
    }
}
