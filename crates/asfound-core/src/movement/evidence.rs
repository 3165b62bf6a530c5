//! What shows that bits move by themselves, and what follows from it.

use time::OffsetDateTime;

use crate::names::EntryNumber;
use crate::value::BitMask;

/// What showed that bits move by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MovementEvidence {
    /// A bus log, filed with this entry: the record was read with other content, and nothing was written in between.
    Log(EntryNumber),
    /// Two readings of one sitting, without work in between.
    Readings(EntryNumber, EntryNumber),
}

impl MovementEvidence {
    /// The entries that show it.
    pub fn entries(self) -> impl Iterator<Item = EntryNumber> {
        let (first, second) = match self {
            Self::Log(entry) => (entry, None),
            Self::Readings(before, after) => (before, Some(after)),
        };
        [Some(first), second].into_iter().flatten()
    }
}

/// Bits of one record that were seen to move.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Movement {
    /// What showed it.
    pub evidence: MovementEvidence,
    /// The bits.
    pub bits: BitMask,
    /// How often the record was read otherwise than just before.
    pub times: u32,
    /// When it was read before it moved.
    pub from: OffsetDateTime,
    /// When it was last read otherwise.
    pub until: OffsetDateTime,
}

/// Bits of one record that differ between two readings and that no definition names, sorted by what is known of them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SortedBits {
    /// They were seen to move by themselves, and nobody wrote them before.
    pub moving: BitMask,
    /// Recorded work or a write on the bus altered them before, and they were not seen to move since: they are settings.
    pub settings: BitMask,
    /// Neither: settings or measured values, nobody can tell.
    pub unclear: BitMask,
}

impl SortedBits {
    /// Bits of which nothing is known.
    pub(crate) fn unclear(bits: &BitMask) -> Self {
        Self { unclear: bits.clone(), ..Self::default() }
    }
}
