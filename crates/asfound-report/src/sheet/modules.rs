//! One verdict for every record, at the points read.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::Definition;
use asfound_core::difference::{ComparisonVerdict, ModuleComparison, ModuleSnapshot, RecordComparison};
use asfound_core::identity::Identity;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingName, SettingPath};
use asfound_core::state::{KnownSetting, ModuleState};
use serde::Serialize;

use super::{AccountedBy, FieldContent, SheetChange};

/// What is said of one record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RecordVerdict {
    /// Read at both moments, and the same bit by bit.
    Same,
    /// Read at both moments; everything in it that differs was authorised, or recorded where there is no work order.
    ChangedAsAgreed,
    /// Read at both moments, and something differs that nobody agreed to or recorded.
    ChangedOtherwise,
    /// Read at both moments; beside what was agreed to or recorded nothing differs but bits of which nobody can tell whether
    /// they are a setting or a measured value.
    CannotTell,
    /// Read at both moments; all its bytes change by themselves, so that nothing was compared.
    OnlyVolatile,
    /// Not read at both moments.
    NotRead,
    /// The module answered no.
    Refused,
}

/// One record, examined.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RecordShown {
    /// The record.
    pub record: RecordName,
    /// What the definition calls it.
    pub label: Option<String>,
    /// What is said of it.
    pub verdict: RecordVerdict,
    /// How many bytes were compared.
    pub bytes_compared: usize,
    /// How many were left out because they change by themselves.
    pub bytes_volatile: usize,
    /// Bits that differ and that no definition names.
    pub undeclared_bits: u32,
    /// Those of them of which nobody can tell whether they are a setting or a measured value.
    pub bits_unclear: u32,
    /// Bits that no definition names and that were left out, because they were seen to change by themselves.
    pub bits_moving: u32,
    /// The reading that gave it as found.
    pub read_as_found: Option<EntryNumber>,
    /// The reading that gave it as left.
    pub read_as_left: Option<EntryNumber>,
}

/// What a module says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct IdentityShown {
    /// The part number.
    pub part_number: Option<String>,
    /// The hardware.
    pub hardware: Option<String>,
    /// The software.
    pub software: Option<String>,
    /// The serial number.
    pub serial: Option<String>,
}

impl IdentityShown {
    pub(super) fn of(identity: &Identity) -> Self {
        Self {
            part_number: identity.part_number.clone(),
            hardware: identity.hardware.clone(),
            software: identity.software.clone(),
            serial: identity.serial.clone(),
        }
    }
}

/// One module at the two moments.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ModuleShown {
    /// The module.
    pub module: ModuleName,
    /// Its diagnostic address.
    pub address: Option<String>,
    /// What it said of itself as found.
    pub found: IdentityShown,
    /// What it said of itself as left.
    pub left: IdentityShown,
    /// Whether both differ in something that both tell.
    pub renewed: bool,
    /// Its records, by name.
    pub records: Vec<RecordShown>,
    /// The settings that were read at both moments and hold the same, by name.
    pub settings_same: Vec<SettingShown>,
    /// The settings known by value that were not read at both moments, by name.
    pub settings_not_read: Vec<SettingShown>,
}

/// One setting that did not change, or of which nothing is said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SettingShown {
    /// The setting.
    pub setting: SettingName,
    /// What the definition calls it.
    pub label: Option<String>,
    /// What it holds; nothing where it was not read.
    pub holds: Option<FieldContent>,
}

/// Sums over all modules.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// Records that are the same.
    pub same: usize,
    /// Records that changed as agreed.
    pub changed_as_agreed: usize,
    /// Records that changed otherwise.
    pub changed_otherwise: usize,
    /// Records in which beside that nothing differs but bits of which nobody can tell what they are.
    pub cannot_tell: usize,
    /// Records in which nothing was compared, because all their bytes change by themselves.
    pub only_volatile: usize,
    /// Records that were not read at both moments.
    pub not_read: usize,
    /// Records that were refused.
    pub refused: usize,
    /// Modules with at least one record that was compared.
    pub modules_compared: usize,
    /// Bytes that were compared.
    pub bytes_compared: usize,
    /// Bytes left out because they change by themselves.
    pub bytes_volatile: usize,
    /// Bits that differ and that no definition names.
    pub undeclared_bits: u32,
    /// Those of them of which nobody can tell whether they are a setting or a measured value.
    pub bits_unclear: u32,
    /// In how many records there are such bits.
    pub records_unclear: usize,
    /// Bits that no definition names and that were left out, because they were seen to change by themselves.
    pub bits_moving: u32,
    /// In how many records there are such bits.
    pub records_moving: usize,
}

impl Totals {
    pub(super) fn over(modules: &[ModuleShown]) -> Self {
        let mut totals = Self::default();
        for module in modules {
            let mut compared = false;
            for record in &module.records {
                let count = match record.verdict {
                    RecordVerdict::Same => &mut totals.same,
                    RecordVerdict::ChangedAsAgreed => &mut totals.changed_as_agreed,
                    RecordVerdict::ChangedOtherwise => &mut totals.changed_otherwise,
                    RecordVerdict::CannotTell => &mut totals.cannot_tell,
                    RecordVerdict::OnlyVolatile => &mut totals.only_volatile,
                    RecordVerdict::NotRead => &mut totals.not_read,
                    RecordVerdict::Refused => &mut totals.refused,
                };
                *count += 1;
                compared |= record.bytes_compared > 0;
                totals.bytes_compared += record.bytes_compared;
                totals.bytes_volatile += record.bytes_volatile;
                totals.undeclared_bits += record.undeclared_bits;
                totals.bits_unclear += record.bits_unclear;
                totals.records_unclear += usize::from(record.bits_unclear > 0);
                totals.bits_moving += record.bits_moving;
                totals.records_moving += usize::from(record.bits_moving > 0);
            }
            totals.modules_compared += usize::from(compared);
        }
        totals
    }

    /// Records that were compared.
    pub fn records_compared(&self) -> usize {
        self.same + self.changed_as_agreed + self.changed_otherwise + self.cannot_tell
    }
}

/// The two sides of a module.
pub(super) struct ModuleSides<'a> {
    pub(super) found: &'a ModuleState,
    pub(super) left: &'a ModuleState,
    pub(super) from: EntryNumber,
    /// The definition that explains it as left.
    pub(super) definition: Option<&'a Definition>,
    /// Whether the module became another unit or got other software between the two, as a work order authorised.
    pub(super) renewed_as_authorised: bool,
}

pub(super) fn module(compared: &ModuleComparison, sides: &ModuleSides<'_>, changes: &[SheetChange]) -> ModuleShown {
    let mut by_record: BTreeMap<&RecordName, Vec<&SheetChange>> = BTreeMap::new();
    for change in changes {
        if let Some(record) = &change.record {
            by_record.entry(record).or_default().push(change);
        }
    }
    let of_record = |record: &RecordName| by_record.get(record).map(Vec::as_slice).unwrap_or_default();
    let address = sides.left.address.or(sides.found.address).map(|address| address.to_string());
    ModuleShown {
        module: compared.module.clone(),
        address,
        found: IdentityShown::of(&sides.found.identity),
        left: IdentityShown::of(&sides.left.identity),
        renewed: !compared.identity.is_empty(),
        settings_same: Vec::new(),
        settings_not_read: Vec::new(),
        records: compared.records.iter().map(|record| examined(record, sides, of_record(&record.record))).collect(),
    }
    .with_settings(sides, changes)
}

impl ModuleShown {
    /// The same with the settings that did not change, and those of which nothing is said.
    fn with_settings(mut self, sides: &ModuleSides<'_>, changes: &[SheetChange]) -> Self {
        let fields: BTreeSet<&str> = changes.iter().map(|change| change.field.as_str()).collect();
        let altered = |setting: &SettingName| {
            let path = SettingPath { module: self.module.clone(), setting: setting.clone() };
            fields.contains(path.to_string().as_str())
        };
        let compared = self.records.iter().filter(|record| record.verdict.is_compared());
        let compared: BTreeSet<&RecordName> = compared.map(|record| &record.record).collect();
        let snapshot = ModuleSnapshot { module: sides.left, definition: sides.definition };
        let before = ModuleSnapshot { module: sides.found, definition: sides.definition };
        // What changes by itself is left out of the comparison, and has not stayed as it was either.
        let stayed = |name: &SettingName| {
            let holds = snapshot.content(name)?;
            before.content(name).is_some_and(|before| before.same(&holds)).then_some(FieldContent(holds))
        };
        let (mut same, mut not_read) = (Vec::new(), Vec::new());
        for (name, setting) in sides.definition.into_iter().flat_map(Definition::settings) {
            let holds = stayed(name).filter(|_| compared.contains(setting.record()) && !altered(name));
            let label = Some(setting.label().to_owned());
            same.extend(holds.map(|holds| SettingShown { setting: name.clone(), label, holds: Some(holds) }));
        }
        let of_records = |name: &SettingName| sides.definition.is_some_and(|one| one.setting(name).is_some());
        for (name, left) in sides.left.stated.iter().filter(|(name, _)| !of_records(name)) {
            let read =
                |known: &KnownSetting| known.read.map(|(reading, _)| reading).filter(|read| *read >= known.since);
            let found = sides.found.stated.get(name).and_then(read);
            let again = read(left).filter(|reading| *reading > sides.from);
            if found.is_none() || again.is_none() {
                not_read.push(SettingShown { setting: name.clone(), label: None, holds: None });
            } else if let Some(holds) = stayed(name).filter(|_| !altered(name)) {
                same.push(SettingShown { setting: name.clone(), label: None, holds: Some(holds) });
            }
        }
        (self.settings_same, self.settings_not_read) = (same, not_read);
        self
    }
}

impl RecordVerdict {
    /// Whether it was read at both moments, so that its settings were compared.
    pub fn is_compared(self) -> bool {
        matches!(self, Self::Same | Self::ChangedAsAgreed | Self::ChangedOtherwise | Self::CannotTell)
    }
}

/// The verdict on a record. Only what readings gave is compared: content that somebody stated, and nobody read after that,
/// counts as not read.
fn examined(record: &RecordComparison, sides: &ModuleSides<'_>, inside: &[&SheetChange]) -> RecordShown {
    let read = |module: &ModuleState| {
        let known = module.records.get(&record.record)?;
        known.read.map(|(reading, _)| reading).filter(|reading| *reading >= known.since)
    };
    let (found, left) = (read(sides.found), read(sides.left).filter(|reading| *reading > sides.from));
    let verdict = match record.verdict {
        ComparisonVerdict::Refused => RecordVerdict::Refused,
        ComparisonVerdict::NotRead => RecordVerdict::NotRead,
        ComparisonVerdict::Same | ComparisonVerdict::Changed if found.is_none() || left.is_none() => {
            RecordVerdict::NotRead
        }
        ComparisonVerdict::Same if record.compared == 0 => RecordVerdict::OnlyVolatile,
        ComparisonVerdict::Same => RecordVerdict::Same,
        ComparisonVerdict::Changed => {
            let comparable = !record.layout_changed || sides.renewed_as_authorised;
            let accounted_for = inside.iter().all(|change| change.account.is_accounted_for());
            let accuses =
                |change: &&SheetChange| !change.account.is_accounted_for() && change.account != AccountedBy::CannotTell;
            match comparable && !inside.iter().any(accuses) {
                true if accounted_for => RecordVerdict::ChangedAsAgreed,
                true => RecordVerdict::CannotTell,
                false => RecordVerdict::ChangedOtherwise,
            }
        }
    };
    let compared = !matches!(verdict, RecordVerdict::NotRead | RecordVerdict::Refused);
    let defined = sides.definition.and_then(|definition| definition.records().get(&record.record));
    RecordShown {
        record: record.record.clone(),
        label: defined.map(|defined| defined.label().to_owned()),
        verdict,
        bytes_compared: if compared { record.compared } else { 0 },
        bytes_volatile: if compared { record.volatile } else { 0 },
        undeclared_bits: if compared { record.undeclared.count() } else { 0 },
        bits_unclear: if compared { record.unclear.count() } else { 0 },
        bits_moving: if compared { record.moving.count() } else { 0 },
        read_as_found: found,
        read_as_left: left,
    }
}
