//! What an audit comes to.

use asfound_core::names::{EntryNumber, Tag};

use super::{Finding, FindingKind, FindingLevel, Signatures, SupersededLine};
use crate::Digest;

/// What the audit of one journal came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Audit {
    /// The vehicle.
    pub tag: Tag,
    /// How many entries were checked: all that can be reached from the newest.
    pub entries_checked: u32,
    /// The last entry up to which everything holds; nothing where not even the first does.
    pub sound_until: Option<EntryNumber>,
    /// The first entry from which trust is lost; nothing where none is, and where nobody can say which it is.
    pub lost_from: Option<EntryNumber>,
    /// What was found, in the order of the entries. What one entry has just as the entry before it had is said once.
    pub findings: Vec<Finding>,
    /// What the signatures are worth.
    pub signatures: Signatures,
    /// The hash of each entry's leaf, from the first entry on, as far as they can be read without a gap. Their root
    /// ([`root_of`](crate::merkle::root_of)) over as many of them as a seal counts is what that seal says, or it is not.
    pub leaves: Vec<Digest>,
    /// The lines that are kept beside the journal, and all of whose entries stand in it.
    pub kept: Vec<SupersededLine>,
    /// Whether an entry says that it stood in another line before.
    pub(super) replayed: bool,
}

impl Audit {
    /// The level of the weightiest finding; nothing where there is none.
    pub fn worst(&self) -> Option<FindingLevel> {
        self.findings.iter().map(|finding| finding.level).max()
    }

    /// Whether every entry can be relied on, as far as the journal itself can show.
    pub fn is_sound(&self) -> bool {
        !self.worst().is_some_and(FindingLevel::costs_trust)
    }

    /// Whether something of this kind was found.
    pub(super) fn has(&self, kind: &FindingKind) -> bool {
        self.findings.iter().any(|finding| finding.what == *kind)
    }

    /// How many findings are of a level.
    pub fn count(&self, level: FindingLevel) -> usize {
        self.findings.iter().filter(|finding| finding.level == level).count()
    }
}
