//! Trouble codes at the two moments, with what the readings hold of each.

use asfound_core::difference::{CodeComparison, ModuleComparison};
use asfound_core::entry::{Body, Entry};
use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::state::ModuleState;
use asfound_core::trouble_code::{ReportedCode, TroubleCode};
use serde::Serialize;
use time::OffsetDateTime;

/// The trouble codes of one module at the two moments.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CodesShown {
    /// The module.
    pub module: ModuleName,
    /// Whether it was scanned at both moments; the first three lists are empty where it was not.
    pub examined: bool,
    /// There before and after.
    pub there_before: Vec<CodeShown>,
    /// Only after.
    pub new: Vec<CodeShown>,
    /// Only before.
    pub gone: Vec<CodeShown>,
    /// Where it was not scanned at both moments: the codes of its last scan.
    pub last_known: Vec<CodeShown>,
}

/// One trouble code, with what the readings tell of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CodeShown {
    /// The code.
    pub code: TroubleCode,
    /// As the module reported it at the first moment.
    pub found: Option<ReportedCode>,
    /// As it reported it at the second.
    pub left: Option<ReportedCode>,
    /// The first reading of the journal that has it.
    pub first_seen: Option<ScanShown>,
    /// The last, up to the second moment.
    pub last_seen: Option<ScanShown>,
}

/// A reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ScanShown {
    /// The entry.
    pub entry: EntryNumber,
    /// When it was taken.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
}

/// The codes of one module; `readings` are those up to the second moment.
pub(super) fn codes(
    compared: &ModuleComparison,
    (found, left): (&ModuleState, &ModuleState),
    readings: &[&Entry],
) -> CodesShown {
    let module = &compared.module;
    let in_scan = |state: &ModuleState, code: &TroubleCode| {
        state.codes.as_ref()?.codes.iter().find(|reported| reported.code == *code).cloned()
    };
    let seen = |code: &TroubleCode| {
        let scans = readings.iter().filter_map(|entry| match &entry.body {
            Body::Reading(reading) => Some((entry, reading.covered.get(module)?.trouble_codes.as_ref()?)),
            _ => None,
        });
        let with_code = scans.filter(|(_, codes)| codes.iter().any(|reported| reported.code == *code));
        let mut all = with_code.map(|(entry, _)| ScanShown { entry: entry.number, at: entry.happened });
        let first = all.next();
        (first, all.next_back().or(first))
    };
    let shown = |list: &[ReportedCode]| -> Vec<CodeShown> {
        let shown = list.iter().map(|reported| {
            let (first_seen, last_seen) = seen(&reported.code);
            let (found, left) = (in_scan(found, &reported.code), in_scan(left, &reported.code));
            CodeShown { code: reported.code.clone(), found, left, first_seen, last_seen }
        });
        shown.collect()
    };
    match &compared.codes {
        CodeComparison::NotExamined => {
            let last = left.codes.as_ref().map_or(&[][..], |scanned| &scanned.codes);
            CodesShown {
                module: module.clone(),
                examined: false,
                there_before: Vec::new(),
                new: Vec::new(),
                gone: Vec::new(),
                last_known: shown(last),
            }
        }
        CodeComparison::Examined(groups) => CodesShown {
            module: module.clone(),
            examined: true,
            there_before: shown(&groups.there_before),
            new: shown(&groups.new),
            gone: shown(&groups.gone),
            last_known: Vec::new(),
        },
    }
}
