//! What the first page answers: what was altered, whether it was agreed to, what was not done, what was not read.

use asfound_core::names::ModuleName;
use serde::Serialize;

use super::{AccountedBy, ModuleShown, NotDone, ProofLevel, RecordShown, RecordVerdict, Sheet, SheetChange};

/// The answers of the first page. Every difference between the two moments is in one of its lists.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FrontPage<'s> {
    /// Altered as was agreed before.
    pub as_agreed: Vec<&'s SheetChange>,
    /// Altered; the customer agreed to it afterwards, or took their consent back afterwards.
    pub afterwards: Vec<&'s SheetChange>,
    /// Altered by recorded work that no work order covers.
    pub recorded: Vec<&'s SheetChange>,
    /// Altered without agreement, or by nobody knows whom.
    pub not_agreed: Vec<&'s SheetChange>,
    /// Different; nobody can tell whether somebody altered it.
    pub cannot_tell: Vec<&'s SheetChange>,
    /// Asked for, or begun, and not done.
    pub not_done: Vec<&'s NotDone>,
    /// What was not read, or not given, by module.
    pub not_read: Vec<NotReadModule<'s>>,
    /// What stayed as it was.
    pub same: SameCounts,
}

/// What was not read of one module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotReadModule<'s> {
    /// The module.
    pub module: &'s ModuleName,
    /// Whether nothing of it was read at both moments.
    pub whole: bool,
    /// The records that were not read at both moments.
    pub records: Vec<&'s RecordShown>,
    /// The records that it refused.
    pub refused: Vec<&'s RecordShown>,
    /// How many settings known by value were not read at both moments.
    pub settings: usize,
}

/// How much stayed as it was, of what was read at both moments.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct SameCounts {
    /// Settings.
    pub settings: usize,
    /// Records.
    pub records: usize,
    /// Modules that they are in.
    pub modules: usize,
}

impl<'s> FrontPage<'s> {
    /// The answers of a sheet.
    pub fn of(sheet: &'s Sheet<'_>) -> Self {
        let mut front = Self::default();
        for change in &sheet.changes {
            let list = match change.account {
                AccountedBy::AsAuthorised | AccountedBy::WithUnit | AccountedBy::TakenBack => &mut front.as_agreed,
                AccountedBy::AgreedAfterwards | AccountedBy::WithdrawnSince => &mut front.afterwards,
                AccountedBy::AsRecorded => &mut front.recorded,
                AccountedBy::WithoutAuthority | AccountedBy::AnotherHand | AccountedBy::Contradiction => {
                    &mut front.not_agreed
                }
                AccountedBy::CannotTell => &mut front.cannot_tell,
            };
            list.push(change);
        }
        front.not_done = sheet.undone.iter().collect();
        front.not_read = sheet.modules.iter().filter_map(|module| not_read(module, &sheet.changes)).collect();
        for module in &sheet.modules {
            let records = module.records.iter().filter(|record| record.verdict == RecordVerdict::Same).count();
            let settings = module.settings_same.len();
            front.same.settings += settings;
            front.same.records += records;
            front.same.modules += usize::from(records + settings > 0);
        }
        front
    }
}

fn not_read<'s>(module: &'s ModuleShown, changes: &[SheetChange]) -> Option<NotReadModule<'s>> {
    let of = |verdict| module.records.iter().filter(|record| record.verdict == verdict).collect::<Vec<_>>();
    let (records, refused) = (of(RecordVerdict::NotRead), of(RecordVerdict::Refused));
    let settings = module.settings_not_read.len();
    // What differs was read, unless it was only stated.
    let mut altered = changes.iter().filter(|change| change.module == module.module);
    let something = records.len() < module.records.len()
        || !module.settings_same.is_empty()
        || altered.any(|change| change.level != Some(ProofLevel::Stated));
    let whole = !something && refused.is_empty();
    (!records.is_empty() || !refused.is_empty() || settings > 0).then_some(NotReadModule {
        module: &module.module,
        whole,
        records,
        refused,
        settings,
    })
}
