//! What differs between the two moments, and who accounts for it.
//!
//! Where there is a work order, its outcome says what was authorised; nothing is judged a second time here.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::Definition;
use asfound_core::difference::{ComparisonVerdict, Content, ModuleComparison, RecordComparison, SettingDifference};
use asfound_core::history::{Field, History, Origin, Proof, Transition};
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use asfound_core::value::BitMask;
use asfound_core::work_order::{HowDone, OrderOutcome, OrderVerdict as Judged, OutcomeLine, OutcomeSubject, WorkOrder};
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

/// What a field holds; in JSON, its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldContent(pub Content);

impl Serialize for FieldContent {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

/// Who accounts for a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AccountedBy {
    /// It is as the work order authorised it.
    AsAuthorised,
    /// It is as the customer agreed to when it was done already.
    AgreedAfterwards,
    /// It is as the customer had agreed to when it was done; they took that back since.
    WithdrawnSince,
    /// It came with a module whose replacement or other software the work order authorised.
    WithUnit,
    /// It is as it was before the work order.
    TakenBack,
    /// Recorded work; there is no work order.
    AsRecorded,
    /// Recorded work that the work order does not cover.
    WithoutAuthority,
    /// A reading shows it, and no entry accounts for it.
    AnotherHand,
    /// A reading shows something else than recorded work should have left.
    Contradiction,
    /// A reading shows something else than before, and nobody can say whether somebody altered it.
    CannotTell,
}

impl AccountedBy {
    /// Whether somebody recorded it and nobody said that it was not to be done.
    pub fn is_accounted_for(self) -> bool {
        matches!(
            self,
            Self::AsAuthorised
                | Self::AgreedAfterwards
                | Self::WithdrawnSince
                | Self::WithUnit
                | Self::TakenBack
                | Self::AsRecorded
        )
    }
}

/// How well a change is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProofLevel {
    /// Somebody wrote down that they made it.
    Stated,
    /// A later reading shows it.
    ReadBack(EntryNumber),
    /// A bus log, filed with this entry, shows so much of it that the read-back tells the rest.
    PartlyWitnessed(EntryNumber),
    /// A bus log, filed with this entry, shows the write, the module's answer and the read-back.
    Witnessed(EntryNumber),
    /// A later reading shows something else.
    Contradicted(EntryNumber),
    /// A reading shows it, and no work is recorded.
    Read(EntryNumber),
}

/// In JSON, the word and the entry of the reading or the bus log, which may be null.
impl Serialize for ProofLevel {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (level, reading) = match self {
            Self::Stated => ("stated", None),
            Self::ReadBack(reading) => ("read-back", Some(reading)),
            Self::PartlyWitnessed(log) => ("partly-witnessed", Some(log)),
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
pub struct SheetChange {
    /// The module.
    pub module: ModuleName,
    /// The setting, or the bits without a name, as the journal writes them.
    pub field: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// The record that it lies in, where that is known.
    pub record: Option<RecordName>,
    /// As found.
    pub found: Option<FieldContent>,
    /// As left.
    pub left: Option<FieldContent>,
    /// How many bits it is, where no definition names them.
    pub undeclared_bits: Option<u32>,
    /// The entry that tells of it last.
    pub entry: Option<EntryNumber>,
    /// Who accounts for it.
    pub account: AccountedBy,
    /// How well it is proven.
    pub level: Option<ProofLevel>,
}

impl SheetChange {
    /// The field; of bits without a name also what they held and hold.
    pub fn altered(&self) -> String {
        let side = |held: Option<&FieldContent>| held.map(|held| held.0.clone());
        let (found, left) = (side(self.found.as_ref()), side(self.left.as_ref()));
        match (&found, &left, &self.record) {
            (Some(Content::Bits { mask, .. }), _, Some(record))
            | (_, Some(Content::Bits { mask, .. }), Some(record))
                if self.undeclared_bits.is_some() =>
            {
                let (module, record, mask) = (self.module.clone(), record.clone(), mask.clone());
                Field::Undeclared { module, record, mask }.altered(found.as_ref(), left.as_ref())
            }
            _ => self.field.clone(),
        }
    }
}

/// The span of entries that a sheet tells of.
pub(super) struct EntrySpan<'a> {
    pub(super) history: &'a History,
    pub(super) from: EntryNumber,
    pub(super) to: EntryNumber,
    /// The work orders that cover it, and what each comes to.
    pub(super) outcomes: &'a [(WorkOrder, OrderOutcome)],
    /// The groups of bits without a name, by the record that they lie in.
    pub(super) undeclared: UndeclaredByRecord<'a>,
}

/// The groups of bits without a name that entries changed together, by module and record: a car may have very many of both.
pub(super) struct UndeclaredByRecord<'a>(BTreeMap<(&'a ModuleName, &'a RecordName), Vec<(&'a Field, &'a BitMask)>>);

impl<'a> UndeclaredByRecord<'a> {
    pub(super) fn of(history: &'a History) -> Self {
        let mut groups: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for field in history.timelines().keys() {
            if let Field::Undeclared { module, record, mask } = field {
                groups.entry((module, record)).or_default().push((field, mask));
            }
        }
        Self(groups)
    }

    fn get<'q>(&'q self, module: &'q ModuleName, record: &'q RecordName) -> &'q [(&'q Field, &'q BitMask)] {
        self.0.get(&(module, record)).map(Vec::as_slice).unwrap_or_default()
    }
}

/// The entry that tells of a difference, who accounts for it, and how well it is proven.
type ChangeAccount = (Option<EntryNumber>, AccountedBy, Option<ProofLevel>);

const NOBODY: ChangeAccount = (None, AccountedBy::AnotherHand, None);
const UNCLEAR: ChangeAccount = (None, AccountedBy::CannotTell, None);

impl EntrySpan<'_> {
    fn last_step(&self, field: &Field) -> Option<&Transition> {
        let steps = self.history.timeline(field)?.transitions();
        steps.iter().rev().find(|step| self.from < step.entry && step.entry <= self.to)
    }

    /// Who accounts for what a field holds as left, and how well that is proven. `record` is the one that it lies in.
    fn account(&self, field: &Field, record: Option<&RecordName>) -> ChangeAccount {
        let Some(step) = self.last_step(field) else { return NOBODY };
        let read = |account| (Some(step.entry), account, Some(ProofLevel::Read(step.entry)));
        let level = || self.history.proof(field, step.entry).map(ProofLevel::from);
        if let Some((_, outcome)) = self.outcomes.iter().find(|(order, _)| order.holds(step.entry)) {
            let line =
                outcome.about(&OutcomeSubject::Field(field.clone())).find_map(|line| self.told(line, field, step));
            if let Some(told) = line {
                return told;
            }
            // Work in a record that was authorised as a whole has its line there.
            return match record.map(|record| self.of_record(field.module(), record)) {
                // No line accuses it: the outcome has it as it was, in the end.
                Some(NOBODY) | None if step.origin == Origin::Work => {
                    (Some(step.entry), AccountedBy::AsRecorded, level())
                }
                Some(NOBODY) | None => read(AccountedBy::AnotherHand),
                Some((_, account, _)) if step.origin == Origin::Work => (Some(step.entry), account, level()),
                Some((_, account, _)) => read(account),
            };
        }
        match step.origin {
            Origin::Work => (Some(step.entry), AccountedBy::AsRecorded, level()),
            Origin::Contradicts(_) => read(AccountedBy::Contradiction),
            Origin::AnotherHand(_) | Origin::FirstKnown => read(AccountedBy::AnotherHand),
            Origin::CannotTell(_) => read(AccountedBy::CannotTell),
        }
    }

    /// Who accounts for a record as a whole: the order that names it with its bytes, or else nobody.
    fn of_record(&self, module: &ModuleName, record: &RecordName) -> ChangeAccount {
        let what = OutcomeSubject::Record(module.clone(), record.clone());
        let done =
            self.outcomes.iter().flat_map(|(_, outcome)| outcome.about(&what)).find_map(|line| match line.verdict {
                Judged::Done(how) => Some((AccountedBy::AsAuthorised, how)),
                Judged::AgreedAfterwards { how, .. } => Some((AccountedBy::AgreedAfterwards, how)),
                Judged::Withdrawn { done: Some(entry), .. } => {
                    Some((AccountedBy::WithdrawnSince, HowDone::Seen(entry)))
                }
                _ => None,
            });
        match done {
            Some((account, HowDone::Recorded { entry, proof })) => {
                (Some(entry), account, Some(ProofLevel::from(proof)))
            }
            Some((account, HowDone::Seen(entry) | HowDone::WithUnit(entry))) => {
                (Some(entry), account, Some(ProofLevel::Read(entry)))
            }
            Some((_, HowDone::WasSo)) | None => NOBODY,
        }
    }

    /// The reading that shows that a module became another unit or got other software, where the order authorises that.
    pub(super) fn renewed_as_authorised(&self, module: &ModuleName) -> Option<EntryNumber> {
        let what = OutcomeSubject::Unit(module.clone());
        let lines = self.outcomes.iter().flat_map(|(_, outcome)| outcome.about(&what));
        let seen = lines.filter_map(|line| match line.verdict {
            Judged::Done(how) | Judged::AgreedAfterwards { how, .. } => how.entry(),
            Judged::Withdrawn { done, .. } => done,
            _ => None,
        });
        seen.filter(|reading| self.from < *reading && *reading <= self.to).last()
    }

    /// What a line of the outcome says of the last step of its field; nothing where it speaks of another step.
    fn told(&self, line: &OutcomeLine, field: &Field, step: &Transition) -> Option<ChangeAccount> {
        let answers = match step.origin {
            Origin::Contradicts(work) => work,
            _ => step.entry,
        };
        let (entry, account, level) = match line.verdict {
            Judged::Done(HowDone::Recorded { entry, proof }) => {
                (entry, AccountedBy::AsAuthorised, ProofLevel::from(proof))
            }
            Judged::AgreedAfterwards { how: HowDone::Recorded { entry, proof }, .. } => {
                (entry, AccountedBy::AgreedAfterwards, ProofLevel::from(proof))
            }
            Judged::AgreedAfterwards { how: HowDone::Seen(entry) | HowDone::WithUnit(entry), .. } => {
                (entry, AccountedBy::AgreedAfterwards, ProofLevel::Read(entry))
            }
            Judged::Withdrawn { done: Some(entry), .. } => {
                let proof = self.history.proof(field, entry).filter(|_| step.origin == Origin::Work);
                (entry, AccountedBy::WithdrawnSince, proof.map_or(ProofLevel::Read(entry), ProofLevel::from))
            }
            Judged::WithoutAuthority { entry, proof } => {
                (entry, AccountedBy::WithoutAuthority, ProofLevel::from(proof))
            }
            Judged::Done(HowDone::Seen(entry)) => (entry, AccountedBy::AsAuthorised, ProofLevel::Read(entry)),
            Judged::Done(HowDone::WithUnit(entry)) => (entry, AccountedBy::WithUnit, ProofLevel::Read(entry)),
            Judged::AnotherHand { seen, .. } => (seen, AccountedBy::AnotherHand, ProofLevel::Read(seen)),
            Judged::CannotTell { seen, .. } => (seen, AccountedBy::CannotTell, ProofLevel::Read(seen)),
            Judged::TakenBack { entry } => {
                let proof = self.history.proof(field, entry).filter(|_| step.origin == Origin::Work);
                (entry, AccountedBy::TakenBack, proof.map_or(ProofLevel::Read(entry), ProofLevel::from))
            }
            Judged::Done(HowDone::WasSo)
            | Judged::AgreedAfterwards { how: HowDone::WasSo, .. }
            | Judged::NotDone
            | Judged::Withdrawn { done: None, .. } => return None,
        };
        (entry == step.entry || entry == answers).then_some((Some(entry), account, Some(level)))
    }
}

impl From<Proof> for ProofLevel {
    fn from(proof: Proof) -> Self {
        match proof {
            Proof::Stated => Self::Stated,
            Proof::ReadBack(reading) => Self::ReadBack(reading),
            Proof::PartlyWitnessed(log) => Self::PartlyWitnessed(log),
            Proof::Witnessed(log) => Self::Witnessed(log),
            Proof::Contradicted(reading) => Self::Contradicted(reading),
        }
    }
}

/// Everything that differs in one module.
pub(super) fn changes(
    span: &EntrySpan<'_>,
    module: &ModuleComparison,
    definition: Option<&Definition>,
) -> Vec<SheetChange> {
    let name = &module.module;
    let mut changes = Vec::new();
    let undecided = module.settings_undecided.iter().map(|setting| SettingDifference {
        setting: setting.setting.clone(),
        found: Some(setting.found.clone()),
        left: Some(setting.left.clone()),
    });
    for setting in module.settings.iter().cloned().chain(undecided) {
        let path = SettingPath { module: name.clone(), setting: setting.setting.clone() };
        let defined = definition.and_then(|definition| definition.setting(&setting.setting));
        let record = defined.map(asfound_core::definition::SettingDefinition::record);
        let (entry, account, level) = span.account(&Field::Setting(path.clone()), record);
        // What cannot be compared may be the same, which is nobody's doing.
        let undecided = module.settings_undecided.iter().any(|undecided| undecided.setting == setting.setting);
        let account = if undecided && account == AccountedBy::AnotherHand { AccountedBy::CannotTell } else { account };
        changes.push(SheetChange {
            module: name.clone(),
            field: path.to_string(),
            label: defined.map(|setting| setting.label().to_owned()),
            record: record.cloned(),
            found: setting.found.clone().map(FieldContent),
            left: setting.left.clone().map(FieldContent),
            undeclared_bits: None,
            entry,
            account,
            level,
        });
    }
    let by_setting: BTreeSet<RecordName> = changes.iter().filter_map(|change| change.record.clone()).collect();
    for record in module.records.iter().filter(|record| record.verdict == ComparisonVerdict::Changed) {
        let without_a_name = without_a_name(span, name, record);
        let explained = by_setting.contains(&record.record) || !without_a_name.is_empty();
        changes.extend(without_a_name);
        if !explained {
            // Laid out otherwise than before, or a checksum that does not follow: the bytes as a whole.
            let told = match span.renewed_as_authorised(name).filter(|_| record.layout_changed) {
                Some(reading) => (Some(reading), AccountedBy::WithUnit, Some(ProofLevel::Read(reading))),
                None => span.of_record(name, &record.record),
            };
            changes.push(bits(name, record, None, told));
        }
    }
    changes
}

/// Bits of a record that differ and that no definition names, by the groups that entries changed together.
fn without_a_name(span: &EntrySpan<'_>, module: &ModuleName, record: &RecordComparison) -> Vec<SheetChange> {
    let mut left_over = record.undeclared.clone();
    let mut changes = Vec::new();
    for (field, mask) in span.undeclared.get(module, &record.record) {
        let common = mask.common(&left_over);
        if common.is_empty() || span.last_step(field).is_none() {
            continue;
        }
        changes.push(bits(module, record, Some(&common), span.account(field, Some(&record.record))));
        left_over.remove(&common);
    }
    let told = span.of_record(module, &record.record);
    let unclear = left_over.common(&record.unclear);
    left_over.remove(&unclear);
    // Bits that no entry of the span altered.
    for (mask, told) in [(left_over, told), (unclear, if told == NOBODY { UNCLEAR } else { told })] {
        if !mask.is_empty() {
            changes.push(bits(module, record, Some(&mask), told));
        }
    }
    changes
}

fn bits(
    module: &ModuleName,
    record: &RecordComparison,
    mask: Option<&BitMask>,
    (entry, account, level): ChangeAccount,
) -> SheetChange {
    let all =
        BitMask::all(record.found.as_ref().map_or(0, |b| b.len()).max(record.left.as_ref().map_or(0, |b| b.len())));
    let held = |bytes: Option<&asfound_core::value::HexBytes>| {
        bytes.map(|bytes| FieldContent(Content::bits(mask.unwrap_or(&all), bytes)))
    };
    SheetChange {
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
