//! One thing that an audit found.

use std::fmt;

use asfound_core::names::EntryNumber;
use serde::Serialize;

use super::FindingKind;
use crate::store::CommitId;

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FindingLevel {
    /// Worth knowing, and nothing is wrong.
    Remark,
    /// Has an innocent explanation as well as another one: somebody should look at it. What the entry holds still stands.
    Doubt,
    /// Could not be read, so that nobody can say whether it is sound.
    Unreadable,
    /// Was read, and is not what a program that keeps to the format files: the entry was tampered with.
    Tampering,
}

impl FindingLevel {
    /// Whether an entry with such a finding, and everything after it, can no longer be relied on.
    pub fn costs_trust(self) -> bool {
        self >= Self::Unreadable
    }
}

impl fmt::Display for FindingLevel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Remark => "remark",
            Self::Doubt => "doubt",
            Self::Unreadable => "unreadable",
            Self::Tampering => "tampering",
        })
    }
}

/// One thing that an audit found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub level: FindingLevel,
    /// The entry in which it shows, by the number that it states, or should have where it states none. Nothing where it
    /// concerns no entry.
    pub entry: Option<EntryNumber>,
    /// The commit of that entry.
    pub commit: Option<CommitId>,
    /// What was found.
    pub what: FindingKind,
}

impl Finding {
    /// Whether entries may be out of reach, so that nobody can say how many there are.
    pub(super) fn severs(&self) -> bool {
        let beside = matches!(
            self.what,
            FindingKind::Replaced(_) | FindingKind::Grafted(_) | FindingKind::Shallow(_) | FindingKind::Index
        );
        (self.entry.is_none() && !beside) || self.what == FindingKind::Severed
    }

    pub(super) fn new(entry: Option<EntryNumber>, commit: Option<&CommitId>, what: FindingKind) -> Self {
        Self { level: what.level(), entry, commit: commit.cloned(), what }
    }
}

/// `tampering, entry 3: …`
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.entry {
            Some(entry) => write!(f, "{}, entry {entry}: {}", self.level, self.what),
            None => write!(f, "{}: {}", self.level, self.what),
        }
    }
}
