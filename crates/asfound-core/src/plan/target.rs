//! What is wanted of each field.

use std::collections::{BTreeMap, BTreeSet};

use super::compose::BlockedField;
use crate::difference::Content;
use crate::history::Field;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use crate::value::{HexBytes, Value};

/// What is wanted of one field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WantedContent<'t> {
    /// A content that the field has held; where it is known, before which entry.
    Held(&'t Content, Option<EntryNumber>),
    /// A value that somebody chose.
    Chosen(&'t Value),
}

/// What is wanted of each field, and the contents as found that only the user can tell.
///
/// What a field is to hold again is not copied from the history: a return to an early entry is about every field.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Targets<'h> {
    /// Contents that fields have held, and where that is known before which entry.
    held: BTreeMap<&'h Field, (&'h Content, Option<EntryNumber>)>,
    /// Values that somebody chose; no field is in both.
    chosen: BTreeMap<Field, Value>,
    pub(super) records: BTreeMap<(ModuleName, RecordName), HexBytes>,
    pub(super) was: BTreeMap<Field, Value>,
    pub(super) record_was: BTreeMap<(ModuleName, RecordName), HexBytes>,
    pub(super) one_way: bool,
    pub(super) spare: BTreeSet<SettingPath>,
    pub(super) blocked: Vec<BlockedField>,
    pub(super) read_first: bool,
}

impl<'h> Targets<'h> {
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
        self.held.remove(&field);
        self.chosen.insert(field, value);
    }

    /// Wants these bytes in a record.
    pub fn choose_record(&mut self, module: ModuleName, record: RecordName, bytes: HexBytes) {
        self.records.insert((module, record), bytes);
    }

    /// Wants back a content that the field has held.
    pub fn restore(&mut self, field: &'h Field, content: &'h Content) {
        self.want_held(field, content, None);
    }

    /// Wants back what the field held before an entry.
    pub(super) fn restore_before(&mut self, field: &'h Field, content: &'h Content, entry: EntryNumber) {
        self.want_held(field, content, Some(entry));
    }

    fn want_held(&mut self, field: &'h Field, content: &'h Content, before: Option<EntryNumber>) {
        self.chosen.remove(field);
        self.held.insert(field, (content, before));
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
        self.blocked.push(BlockedField { field, why });
    }

    /// Says that whoever carries the plan out reads first what is in doubt, as a walk does.
    pub fn read_open_steps_first(&mut self) {
        self.read_first = true;
    }

    /// Says that there need be no way back.
    pub fn allow_one_way(&mut self) {
        self.one_way = true;
    }

    /// The settings for which a value was chosen, with that value.
    pub fn chosen(&self) -> impl Iterator<Item = (&SettingPath, &Value)> {
        self.chosen.iter().filter_map(|(field, value)| match field {
            Field::Setting(path) => Some((path, value)),
            Field::Undeclared { .. } => None,
        })
    }

    /// The fields of which something is wanted, in order.
    pub fn fields(&self) -> impl Iterator<Item = &Field> {
        self.wanted().map(|(field, _)| field)
    }

    /// The same with what is wanted.
    pub(super) fn wanted(&self) -> impl Iterator<Item = (&Field, WantedContent<'_>)> {
        let held = self.held.iter().map(|(field, (content, before))| (*field, WantedContent::Held(content, *before)));
        let chosen = self.chosen.iter().map(|(field, value)| (field, WantedContent::Chosen(value)));
        let mut all: Vec<_> = held.chain(chosen).collect();
        all.sort_unstable_by_key(|(field, _)| *field);
        all.into_iter()
    }

    /// Whether nothing is wanted.
    pub fn is_empty(&self) -> bool {
        self.held.is_empty() && self.chosen.is_empty() && self.records.is_empty() && self.blocked.is_empty()
    }
}
