//! When a trouble code came: between the last scan without it and the first with it.

use std::collections::BTreeSet;
use std::ops::Range;

use thiserror::Error;

use crate::history::{Field, History};
use crate::names::{EntryNumber, ModuleName};
use crate::trial::Scans;
use crate::trouble_code::{ReportedCode, TroubleCode};

use super::candidates::fields_altered;

/// Why nothing can be suspected.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoSuspects {
    /// No reading has the code.
    #[error("no reading of this vehicle has the code {code}")]
    NeverSeen {
        /// The code.
        code: TroubleCode,
        /// Codes that come close: the same first two bytes.
        near: Vec<(ModuleName, TroubleCode)>,
    },
    /// Several modules had it.
    #[error("{code} was seen in several modules: {}", .modules.iter().map(ModuleName::as_str).collect::<Vec<_>>().join(", "))]
    SeveralModules {
        /// The code.
        code: TroubleCode,
        /// The modules.
        modules: Vec<ModuleName>,
    },
    /// That module never had it.
    #[error("{module} never had the code {code}")]
    NotInModule {
        /// The code.
        code: TroubleCode,
        /// The module.
        module: ModuleName,
    },
}

impl NoSuspects {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::NeverSeen { near, .. } => {
                let (module, code) = near.first()?;
                Some(format!("did you mean {code} of {module}?"))
            }
            Self::SeveralModules { modules, .. } => Some(format!("say which with `--module {}`", modules.first()?)),
            Self::NotInModule { .. } => None,
        }
    }
}

/// The time in which a code came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Window {
    /// The module that has the code.
    pub module: ModuleName,
    /// The last reading that scanned the module and did not find the code; nothing where there is none.
    pub without: Option<EntryNumber>,
    /// The first reading that found it.
    pub first: EntryNumber,
    /// The last reading that scanned the module, and whether it found the code.
    pub last_scan: (EntryNumber, bool),
}

impl Window {
    /// Whether an entry was filed in it.
    pub(super) fn holds(&self, entry: EntryNumber) -> bool {
        self.without.is_none_or(|without| entry > without) && entry <= self.first
    }
}

/// The module that a code is asked about.
fn module_of(scans: &Scans<'_>, code: &TroubleCode, asked: Option<&ModuleName>) -> Result<ModuleName, NoSuspects> {
    let (mut modules, mut near) = (BTreeSet::new(), BTreeSet::new());
    for reading in &scans.readings {
        for (module, codes) in Scans::in_reading(reading) {
            for reported in codes {
                if reported.code == *code {
                    modules.insert(module.clone());
                } else if code.base().is_some() && reported.code.base() == code.base() {
                    near.insert((module.clone(), reported.code.clone()));
                }
            }
        }
    }
    let code = code.clone();
    match (asked, modules.len()) {
        (_, 0) => Err(NoSuspects::NeverSeen { code, near: near.into_iter().collect() }),
        (Some(module), _) if modules.contains(module) => Ok(module.clone()),
        (Some(module), _) => Err(NoSuspects::NotInModule { code, module: module.clone() }),
        (None, 1) => Ok(modules.into_iter().next().expect("there is one")),
        (None, _) => Err(NoSuspects::SeveralModules { code, modules: modules.into_iter().collect() }),
    }
}

/// Whether a scan has a code.
pub(super) fn has(codes: &[ReportedCode], code: &TroubleCode) -> bool {
    codes.iter().any(|reported| reported.code == *code)
}

/// When the code came, the last time that it did. Where it went and came again while what was altered in the first window was
/// put back, that belongs to the rounds, and the first window counts.
pub(super) fn window(
    history: &History,
    scans: &Scans<'_>,
    code: &TroubleCode,
    asked: Option<&ModuleName>,
) -> Result<Window, NoSuspects> {
    let module = module_of(scans, code, asked)?;
    let of_module: Vec<(EntryNumber, bool)> =
        scans.of_module(&module).into_iter().map(|(reading, codes)| (reading.number, has(codes, code))).collect();
    let last_scan = of_module.last().copied().expect("a scan has the code");
    let comings: Vec<(Option<EntryNumber>, EntryNumber)> = of_module
        .iter()
        .enumerate()
        .filter(|(at, (_, there))| *there && (*at == 0 || !of_module[at - 1].1))
        .map(|(at, (reading, _))| (at.checked_sub(1).map(|before| of_module[before].0), *reading))
        .collect();
    let mut chosen = comings.len() - 1;
    while chosen > 0 && rounds_between(history, comings[chosen - 1], comings[chosen].1) {
        chosen -= 1;
    }
    let (without, first) = comings[chosen];
    Ok(Window { module, without, first, last_scan })
}

/// Whether a put-back between two comings of a code was about something that was altered before the first.
fn rounds_between(history: &History, (without, first): (Option<EntryNumber>, EntryNumber), next: EntryNumber) -> bool {
    let after = |entry: EntryNumber| entry.get() + 1;
    let of = |entries: Range<u32>| entries.filter_map(EntryNumber::new);
    let within = of(without.map_or(1, after)..after(first));
    let altered: BTreeSet<&Field> = within.flat_map(|entry| fields_altered(history, entry)).collect();
    let put_backs = of(after(first)..next.get()).filter(|entry| history.put_back_of(*entry).is_some());
    put_backs.flat_map(|entry| fields_altered(history, entry)).any(|field| altered.contains(field))
}
