//! `asfound/trial/1`: what `trial TAG` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, EntryHead, Trial, rising};

/// The trials of a vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trials {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// How many are open.
    pub open: usize,
    /// The modules that some open trial waits for, by name.
    pub modules_needed: Vec<String>,
    /// The open trials, or with `--all` all of them, oldest entry first.
    pub trials: Vec<TrialLine>,
}

/// One trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrialLine {
    /// The change or put-back.
    pub entry: EntryHead,
    /// How it stands.
    pub trial: Trial,
    /// What it waits for, where it is open.
    pub waiting: Option<Waiting>,
}

/// What a trial waits for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Waiting {
    /// Altered modules of which some altered setting was not read after the vehicle was driven, by name.
    pub unread: Vec<String>,
    /// Altered modules that were not scanned for trouble codes after the vehicle was driven, by name.
    pub unscanned: Vec<String>,
    /// Trouble codes that came since, by module.
    pub new_codes: Vec<NewCode>,
}

/// A trouble code that came after some work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NewCode {
    /// The module.
    pub module: String,
    /// The code.
    pub code: String,
    /// The last reading that shows it.
    pub reading: u32,
    /// Whether its module was scanned before the work.
    pub scanned_before: bool,
}

impl Answer for Trials {
    const SCHEMA: &'static str = "asfound/trial/1";
    fn check(&self) {
        rising("modules needed", &self.modules_needed, Clone::clone);
        rising("trials", &self.trials, |line| line.entry.number);
        for waiting in self.trials.iter().filter_map(|line| line.waiting.as_ref()) {
            rising("unread", &waiting.unread, Clone::clone);
            rising("unscanned", &waiting.unscanned, Clone::clone);
            assert!(waiting.new_codes.is_sorted_by_key(|new| &new.module), "{:?}", waiting.new_codes);
        }
    }
}
