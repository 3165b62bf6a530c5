//! When a trouble code came: between the last scan without it and the first with it.

use std::collections::BTreeSet;

use thiserror::Error;

use crate::history::{Field, History, Origin, Transition};
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
    /// The reading that found it the last time that it came, in the rounds of the same question.
    pub until: EntryNumber,
    /// The last reading that scanned the module, and whether it found the code.
    pub last_scan: (EntryNumber, bool),
}

impl Window {
    /// Whether an entry tells of something that happened in it.
    pub(super) fn holds(&self, history: &History, entry: EntryNumber) -> bool {
        let place = history.place_of(entry);
        self.without.is_none_or(|without| place > history.place_of(without)) && place <= history.place_of(self.first)
    }

    /// Whether an entry tells of something after the code was first seen.
    pub(super) fn is_over(&self, history: &History, entry: EntryNumber) -> bool {
        history.place_of(entry) > history.place_of(self.first)
    }

    /// Whether an entry tells of something after the code was first seen and before it came for the last time.
    pub(super) fn is_open_at(&self, history: &History, entry: EntryNumber) -> bool {
        self.is_over(history, entry) && history.place_of(entry) <= history.place_of(self.until)
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

/// The scans of the module that a code is asked about.
pub(super) struct CodeArrivals {
    module: ModuleName,
    last_scan: (EntryNumber, bool),
    /// Each time that the code was there and had not been at the scan before, if there was one: that scan, and the one
    /// which found it.
    all: Vec<(Option<EntryNumber>, EntryNumber)>,
}

impl CodeArrivals {
    /// Every coming of a code.
    pub(super) fn of(scans: &Scans<'_>, code: &TroubleCode, asked: Option<&ModuleName>) -> Result<Self, NoSuspects> {
        let module = module_of(scans, code, asked)?;
        let of_module: Vec<(EntryNumber, bool)> =
            scans.of_module(&module).into_iter().map(|(reading, codes)| (reading.number, has(codes, code))).collect();
        let last_scan = of_module.last().copied().expect("a scan has the code");
        let all = of_module
            .iter()
            .enumerate()
            .filter(|(at, (_, there))| *there && (*at == 0 || !of_module[at - 1].1))
            .map(|(at, (reading, _))| (at.checked_sub(1).map(|before| of_module[before].0), *reading))
            .collect();
        Ok(Self { module, last_scan, all })
    }

    /// The window of the question that is open: it begins before the first coming that is still looked into.
    ///
    /// A code that comes again belongs to the question as long as nothing new was altered in between, or what was altered
    /// for the question was moved since: that was a round. `answered` says whether the question of a window was answered
    /// when the code was found gone, and came again by something else.
    pub(super) fn question(
        &self,
        history: &History,
        answered: impl Fn(&Window, (EntryNumber, EntryNumber)) -> bool,
    ) -> Window {
        let (mut start, in_time) = (0, EntriesByTime::of(history));
        for next in 1..self.all.len() {
            let window = self.window(start, next - 1);
            let (without, coming) = self.all[next];
            let new = in_time.between(without, coming).iter().any(|entry| window.brings_new(history, *entry));
            let moved =
                || in_time.between(Some(window.first), coming).iter().any(|entry| window.moved_by(history, *entry));
            let answered = || without.is_some_and(|gone| answered(&window, (gone, coming)));
            if new && (!moved() || answered()) {
                start = next;
            }
        }
        self.window(start, self.all.len() - 1)
    }

    fn window(&self, start: usize, last: usize) -> Window {
        let (without, first) = self.all[start];
        Window { module: self.module.clone(), without, first, until: self.all[last].1, last_scan: self.last_scan }
    }
}

/// The entries of a journal in the order in which they happened.
struct EntriesByTime<'h> {
    history: &'h History,
    entries: Vec<EntryNumber>,
}

impl<'h> EntriesByTime<'h> {
    fn of(history: &'h History) -> Self {
        let count = history.state().last.map_or(0, EntryNumber::get);
        let mut entries: Vec<EntryNumber> = (1..=count).filter_map(EntryNumber::new).collect();
        entries.sort_by_key(|entry| history.place_of(*entry));
        Self { history, entries }
    }

    /// The entries that tell of something after one entry, and not after another.
    fn between(&self, after: Option<EntryNumber>, last: EntryNumber) -> &[EntryNumber] {
        let until = |entry: EntryNumber| {
            let place = self.history.place_of(entry);
            self.entries.partition_point(|other| self.history.place_of(*other) <= place)
        };
        let (from, to) = (after.map_or(0, until), until(last));
        &self.entries[from.min(to)..to]
    }
}

impl Window {
    /// Whether a step in the life of a field after the code was first seen brings something that the field did not hold in the
    /// window, or is about another field. What only moves a field back and forth is a round.
    pub(super) fn is_new(&self, history: &History, field: &Field, step: &Transition) -> bool {
        let steps = history.timeline(field).map_or(&[][..], |timeline| timeline.transitions());
        let until_seen = steps.iter().filter(|step| !self.is_over(history, step.entry));
        let mut held = until_seen.flat_map(|step| step.found.iter().chain([&step.left]));
        step.origin != Origin::FirstKnown && !(self.alters(history, field) && held.any(|it| it.same(&step.left)))
    }

    /// Whether a field was altered in the window.
    fn alters(&self, history: &History, field: &Field) -> bool {
        let steps = history.timeline(field).map_or(&[][..], |timeline| timeline.transitions());
        steps.iter().any(|step| self.holds(history, step.entry) && step.origin != Origin::FirstKnown)
    }

    fn brings_new(&self, history: &History, entry: EntryNumber) -> bool {
        history.transitions_of(entry).any(|(field, step)| self.is_new(history, field, step))
    }

    fn moved_by(&self, history: &History, entry: EntryNumber) -> bool {
        fields_altered(history, entry).any(|field| self.alters(history, field))
    }
}
