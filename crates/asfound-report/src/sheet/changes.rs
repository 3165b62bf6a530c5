//! What differs between the two moments, and who accounts for it.

use asfound_core::definition::Definition;
use asfound_core::difference::{Content, ModuleComparison, RecordComparison, Verdict};
use asfound_core::history::{Field, History, Origin, Proof, Transition};
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use asfound_core::value::BitMask;
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

use super::Agreement;

/// What a field holds; in JSON, its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held(pub Content);

impl Serialize for Held {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

/// Who accounts for a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Account {
    /// Recorded work, as the work order authorised it.
    AsAuthorised,
    /// Recorded work; there is no work order.
    AsRecorded,
    /// Recorded work that the work order does not cover.
    WithoutAuthority,
    /// A reading shows it, and no entry accounts for it.
    AnotherHand,
    /// A reading shows something else than recorded work should have left.
    Contradiction,
}

impl Account {
    /// Whether somebody recorded it and nobody said that it was not to be done.
    pub fn is_accounted_for(self) -> bool {
        matches!(self, Self::AsAuthorised | Self::AsRecorded)
    }
}

/// How well a change is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Somebody wrote down that they made it.
    Stated,
    /// A later reading shows it.
    ReadBack(EntryNumber),
    /// A bus log, filed with this entry, shows the write, the module's answer and the read-back.
    Witnessed(EntryNumber),
    /// A later reading shows something else.
    Contradicted(EntryNumber),
    /// A reading shows it, and no work is recorded.
    Read(EntryNumber),
}

/// In JSON, the word and the entry of the reading or the bus log, which may be null.
impl Serialize for Level {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (level, reading) = match self {
            Self::Stated => ("stated", None),
            Self::ReadBack(reading) => ("read-back", Some(reading)),
            Self::Witnessed(log) => ("witnessed", Some(log)),
            Self::Contradicted(reading) => ("contradicted", Some(reading)),
            Self::Read(reading) => ("read", Some(reading)),
        };
        let mut map = serializer.serialize_struct("Level", 2)?;
        map.serialize_field("level", level)?;
        map.serialize_field("reading", &reading)?;
        map.end()
    }
}

/// One difference between the two moments.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Changed {
    /// The module.
    pub module: ModuleName,
    /// The setting, or the bits without a name, as the journal writes them.
    pub field: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// The record that it lies in, where that is known.
    pub record: Option<RecordName>,
    /// As found.
    pub found: Option<Held>,
    /// As left.
    pub left: Option<Held>,
    /// How many bits it is, where no definition names them.
    pub undeclared_bits: Option<u32>,
    /// The entry that tells of it last.
    pub entry: Option<EntryNumber>,
    /// Who accounts for it.
    pub account: Account,
    /// How well it is proven.
    pub level: Option<Level>,
}

/// The span of entries that a sheet tells of.
pub(super) struct Span<'a> {
    pub(super) history: &'a History,
    pub(super) from: EntryNumber,
    pub(super) to: EntryNumber,
    pub(super) agreement: Option<&'a Agreement>,
}

impl Span<'_> {
    fn last_step(&self, field: &Field) -> Option<&Transition> {
        let steps = self.history.timeline(field)?.transitions();
        steps.iter().rev().find(|step| self.from < step.entry && step.entry <= self.to)
    }

    /// Who accounts for what a field holds as left, and how well that is proven.
    ///
    /// `whole` is the record that it lies in, as left, where that is known: an order may name a record with its bytes.
    fn account(
        &self,
        field: &Field,
        left: Option<&Content>,
        whole: Option<&RecordComparison>,
    ) -> (Option<EntryNumber>, Account, Option<Level>) {
        let Some(step) = self.last_step(field) else { return (None, Account::AnotherHand, None) };
        let entry = step.entry;
        match step.origin {
            Origin::Work => {
                let level = self.history.proof(field, entry).map(|proof| match proof {
                    Proof::Stated => Level::Stated,
                    Proof::ReadBack(reading) => Level::ReadBack(reading),
                    Proof::Witnessed(log) => Level::Witnessed(log),
                    Proof::Contradicted(reading) => Level::Contradicted(reading),
                });
                let value = left.map(Content::to_string).unwrap_or_default();
                let account = match self.agreement {
                    None => Account::AsRecorded,
                    Some(agreement) if agreement.covers(&field.to_string(), &value) => Account::AsAuthorised,
                    Some(agreement) if covers_whole(agreement, field, whole) => Account::AsAuthorised,
                    Some(_) => Account::WithoutAuthority,
                };
                (Some(entry), account, level)
            }
            Origin::Contradicts(_) => (Some(entry), Account::Contradiction, Some(Level::Read(entry))),
            Origin::AnotherHand(_) | Origin::FirstKnown => {
                (Some(entry), Account::AnotherHand, Some(Level::Read(entry)))
            }
        }
    }
}

/// Whether an agreement names the whole record, with the bytes that it has as left.
fn covers_whole(agreement: &Agreement, field: &Field, whole: Option<&RecordComparison>) -> bool {
    let left = whole.and_then(|record| Some((&record.record, record.left.as_ref()?)));
    left.is_some_and(|(name, bytes)| agreement.covers(&format!("{}:{name}", field.module()), &bytes.to_string()))
}

/// Everything that differs in one module.
pub(super) fn changes(span: &Span<'_>, module: &ModuleComparison, definition: Option<&Definition>) -> Vec<Changed> {
    let name = &module.module;
    let mut changes = Vec::new();
    for setting in &module.settings {
        let path = SettingPath { module: name.clone(), setting: setting.setting.clone() };
        let defined = definition.and_then(|definition| definition.setting(&setting.setting));
        let whole = defined.and_then(|one| module.records.iter().find(|record| record.record == *one.record()));
        let (entry, account, level) = span.account(&Field::Setting(path.clone()), setting.left.as_ref(), whole);
        changes.push(Changed {
            module: name.clone(),
            field: path.to_string(),
            label: defined.map(|setting| setting.label().to_owned()),
            record: defined.map(|setting| setting.record().clone()),
            found: setting.found.clone().map(Held),
            left: setting.left.clone().map(Held),
            undeclared_bits: None,
            entry,
            account,
            level,
        });
    }
    for record in module.records.iter().filter(|record| record.verdict == Verdict::Changed) {
        changes.extend(without_a_name(span, name, record));
        let explained = changes.iter().any(|change| change.record.as_ref() == Some(&record.record));
        if !explained {
            // Laid out otherwise than before, or a checksum that does not follow: the bytes as a whole.
            changes.push(bits(name, record, None, (None, Account::AnotherHand, None)));
        }
    }
    changes
}

/// Bits of a record that differ and that no definition names, by the groups that entries changed together.
fn without_a_name(span: &Span<'_>, module: &ModuleName, record: &RecordComparison) -> Vec<Changed> {
    let mut left_over = record.undeclared.clone();
    let mut changes = Vec::new();
    for field in span.history.timelines().keys() {
        let Field::Undeclared { module: of, record: within, mask } = field else { continue };
        let common = mask.common(&left_over);
        if of != module || *within != record.record || common.is_empty() || span.last_step(field).is_none() {
            continue;
        }
        let left = record.left.as_ref().map(|bytes| Content::bits(mask, bytes.as_slice()));
        changes.push(bits(module, record, Some(&common), span.account(field, left.as_ref(), Some(record))));
        left_over.remove(&common);
    }
    if !left_over.is_empty() {
        changes.push(bits(module, record, Some(&left_over), (None, Account::AnotherHand, None)));
    }
    changes
}

fn bits(
    module: &ModuleName,
    record: &RecordComparison,
    mask: Option<&BitMask>,
    (entry, account, level): (Option<EntryNumber>, Account, Option<Level>),
) -> Changed {
    let all =
        BitMask::all(record.found.as_ref().map_or(0, |b| b.len()).max(record.left.as_ref().map_or(0, |b| b.len())));
    let held = |bytes: Option<&asfound_core::value::HexBytes>| {
        bytes.map(|bytes| Held(Content::bits(mask.unwrap_or(&all), bytes.as_slice())))
    };
    Changed {
        module: module.clone(),
        field: mask
            .map_or_else(|| format!("{module}:{}", record.record), |mask| format!("{module}:{} {mask}", record.record)),
        label: None,
        record: Some(record.record.clone()),
        found: held(record.found.as_ref()),
        left: held(record.left.as_ref()),
        undeclared_bits: mask.map(BitMask::count),
        entry,
        account,
        level,
    }
}
