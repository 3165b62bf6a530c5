//! How the work between the two moments stands its trial.

use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::trial::{JournalTrials, TrialBlocker, TrialState};
use asfound_core::trouble_code::TroubleCode;
use serde::Serialize;

/// The trial of one entry, as the whole journal has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TrialShown {
    /// The change or put-back.
    pub entry: EntryNumber,
    /// How it stands.
    pub state: TrialWord,
    /// The entry by which it ended: the reading, or the later work that took it over.
    pub by: Option<EntryNumber>,
    /// While it is open: modules to be read after the vehicle was driven.
    pub to_read: Box<[ModuleName]>,
    /// While it is open: modules to be scanned for trouble codes after the vehicle was driven.
    pub to_scan: Box<[ModuleName]>,
    /// While it is open: codes that came since.
    pub new_codes: Box<[CodeSince]>,
}

/// How a trial stands, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TrialWord {
    /// It is open.
    Open,
    /// The work held.
    Held,
    /// A reading shows something else than the work left.
    NotHeld,
    /// Later work altered the same before the trial was over.
    TakenOver,
}

/// A trouble code that came after some work.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct CodeSince {
    /// The module.
    pub module: ModuleName,
    /// The code.
    pub code: TroubleCode,
    /// The last reading that shows it.
    pub reading: EntryNumber,
    /// Whether its module was scanned before the work; if not, nobody can tell whether the code is older.
    pub scanned_before: bool,
}

pub(super) fn trials(trials: &JournalTrials<'_>, shown: impl Fn(EntryNumber) -> bool) -> Vec<TrialShown> {
    let within = trials.work().map(|(entry, _)| entry).filter(|entry| shown(*entry));
    within.filter_map(|entry| Some(trial(entry, trials.of(entry)?))).collect()
}

fn trial(entry: EntryNumber, state: TrialState) -> TrialShown {
    let (word, by, waiting) = match state {
        TrialState::Open(waiting) => (TrialWord::Open, None, waiting),
        TrialState::Held(reading) => (TrialWord::Held, Some(reading), TrialBlocker::default()),
        TrialState::NotHeld(reading) => (TrialWord::NotHeld, Some(reading), TrialBlocker::default()),
        TrialState::TakenOver(work) => (TrialWord::TakenOver, Some(work), TrialBlocker::default()),
    };
    let since = waiting.new_codes.into_iter().map(|new| CodeSince {
        module: new.module,
        code: new.code,
        reading: new.reading,
        scanned_before: new.scanned_before,
    });
    TrialShown {
        entry,
        state: word,
        by,
        to_read: waiting.unread.into_iter().collect(),
        to_scan: waiting.unscanned.into_iter().collect(),
        new_codes: since.collect(),
    }
}
