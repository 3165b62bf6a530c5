//! How an entry is tied to the entries before it.

use serde::{Deserialize, Serialize};

use crate::Digest;
use crate::merkle::{Peaks, PeaksError, leaf};

/// The Merkle tree over the leaves of all earlier entries, as an entry states it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Chain {
    /// How many entries came before.
    pub entries: u64,
    /// The root over their leaves (RFC 9162).
    pub root: Digest,
    /// The roots of the tree's perfect subtrees, largest first: what the next root is computed from.
    pub peaks: Vec<Digest>,
}

impl Chain {
    /// The chain that the first entry states.
    pub fn start() -> Self {
        Self::of(&Peaks::new())
    }

    /// The chain that the next entry states, given the data of this entry's leaf
    /// ([`Blind::leaf_data`](super::Blind::leaf_data)).
    ///
    /// # Errors
    /// When the peaks do not belong to the number of entries.
    pub fn after(&self, leaf_data: &[u8]) -> Result<Self, PeaksError> {
        let mut peaks = Peaks::from_roots(self.entries, self.peaks.clone())?;
        peaks.push(leaf(leaf_data));
        Ok(Self::of(&peaks))
    }

    fn of(peaks: &Peaks) -> Self {
        Self { entries: peaks.size(), root: peaks.root(), peaks: peaks.roots().to_vec() }
    }
}
