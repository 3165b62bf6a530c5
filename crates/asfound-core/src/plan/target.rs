//! What is wanted of each field.

use std::collections::{BTreeMap, BTreeSet};

use super::compose::Blocked;
use crate::difference::Content;
use crate::history::Field;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use crate::value::{HexBytes, Value};

/// What is wanted of one field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Wanted {
    /// A content that the field has held; where it is known, before which entry.
    Held(Content, Option<EntryNumber>),
    /// A value that somebody chose.
    Chosen(Value),
}

/// What is wanted of each field, and the contents as found that only the user can tell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Targets {
    pub(super) fields: BTreeMap<Field, Wanted>,
    pub(super) records: BTreeMap<(ModuleName, RecordName), HexBytes>,
    pub(super) was: BTreeMap<Field, Value>,
    pub(super) record_was: BTreeMap<(ModuleName, RecordName), HexBytes>,
    pub(super) one_way: bool,
    pub(super) spare: BTreeSet<SettingPath>,
    pub(super) blocked: Vec<Blocked>,
}

impl Targets {
    /// Nothing is wanted yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Wants chosen values for settings.
    pub fn setting_values(values: impl IntoIterator<Item = (SettingPath, Value)>) -> Self {
        let mut targets = Self::new();
        values.into_iter().for_each(|(path, value)| targets.choose(Field::Setting(path), value));
        targets
    }

    /// Wants a chosen value for a setting.
    pub fn choose(&mut self, field: Field, value: Value) {
        self.fields.insert(field, Wanted::Chosen(value));
    }

    /// Wants these bytes in a record.
    pub fn choose_record(&mut self, module: ModuleName, record: RecordName, bytes: HexBytes) {
        self.records.insert((module, record), bytes);
    }

    /// Wants back a content that the field has held.
    pub fn restore(&mut self, field: Field, content: Content) {
        self.fields.insert(field, Wanted::Held(content, None));
    }

    /// Wants back what the field held before an entry.
    pub(super) fn restore_before(&mut self, field: Field, content: Content, entry: EntryNumber) {
        self.fields.insert(field, Wanted::Held(content, Some(entry)));
    }

    /// Tells the value as found of a setting of which nothing is known.
    pub fn tell_was(&mut self, field: Field, value: Value) {
        self.was.insert(field, value);
    }

    /// Tells the bytes as found of a record of which nothing is known.
    pub fn tell_record_was(&mut self, module: ModuleName, record: RecordName, bytes: HexBytes) {
        self.record_was.insert((module, record), bytes);
    }

    /// Lets a setting of which nothing is wanted be altered for a time, where no plan is safe without that
    /// ([`super::Allowance::AlterForATime`]).
    pub fn allow_for_a_time(&mut self, setting: SettingPath) {
        self.spare.insert(setting);
    }

    /// Says of a field that it stays as it is though something else is wanted of it, and why.
    pub(super) fn block(&mut self, field: Field, why: String) {
        self.blocked.push(Blocked { field, why });
    }

    /// Says that there need be no way back.
    pub fn allow_one_way(&mut self) {
        self.one_way = true;
    }

    /// The settings for which a value was chosen, with that value.
    pub fn chosen(&self) -> impl Iterator<Item = (&SettingPath, &Value)> {
        self.fields.iter().filter_map(|(field, wanted)| match (field, wanted) {
            (Field::Setting(path), Wanted::Chosen(value)) => Some((path, value)),
            _ => None,
        })
    }

    /// The fields of which something is wanted.
    pub fn fields(&self) -> impl Iterator<Item = &Field> {
        self.fields.keys()
    }

    /// Whether nothing is wanted.
    pub fn is_empty(&self) -> bool {
        self.fields.is_empty() && self.records.is_empty() && self.blocked.is_empty()
    }
}
