//! `asfound/shared/1`: what `share` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, rising};

/// What sharing with a place came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shared {
    /// The schema.
    pub schema: String,
    /// The place, as it was typed.
    pub place: String,
    /// The journals, by tag.
    pub journals: Vec<SharedJournal>,
}

/// What sharing one journal came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SharedJournal {
    /// The vehicle's tag.
    pub vehicle: String,
    /// `same`, `received`, `sent`, `brought-together`, `set-aside` or `refused`.
    pub outcome: String,
    /// How many entries came from there.
    pub received: usize,
    /// How many entries went there.
    pub sent: usize,
    /// Entries of this garage that stand behind others now, by their old numbers.
    pub renumbered: Vec<Renumbered>,
    /// Entries of this garage that are no longer in the journal, but kept beside it.
    pub set_aside: Vec<u32>,
    /// Why the journal is not shared.
    pub refusal: Option<ShareRefusal>,
}

/// An entry that stands behind others now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Renumbered {
    /// The number that it had.
    pub was: u32,
    /// The number that it has.
    pub is: u32,
}

/// Why a journal is not shared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShareRefusal {
    /// `rewritten`, `gone`, `started-apart`, `unsound`, `unreadable`, `says-otherwise`, `does-not-follow`, `out-of-reach` or `not-taken`.
    pub kind: String,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Answer for Shared {
    const SCHEMA: &'static str = "asfound/shared/1";
    fn check(&self) {
        rising("journals", &self.journals, |journal| journal.vehicle.clone());
        for journal in &self.journals {
            rising("renumbered entries", &journal.renumbered, |moved| moved.was);
        }
    }
}
