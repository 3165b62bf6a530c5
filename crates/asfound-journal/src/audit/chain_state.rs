//! Follows the chain: what each entry states of those before it, against their leaves.

use asfound_core::names::EntryNumber;

use super::ChainFault;
use crate::Digest;
use crate::entry_files::Chain;
use crate::merkle::{Peaks, leaf};

/// The chain as the entries so far give it.
pub(super) struct ChainState {
    /// What the next entry should state; nothing after an entry whose leaf is not known.
    next: Option<Chain>,
}

impl ChainState {
    /// The start of a journal.
    pub(super) fn start() -> Self {
        Self { next: Some(Chain::start()) }
    }

    /// In the middle of a journal, where nothing is known of the entries before.
    pub(super) fn unknown() -> Self {
        Self { next: None }
    }

    /// Holds what an entry states against the entries before it, the last of which is `before`.
    pub(super) fn check(&self, stated: &Chain, before: EntryNumber) -> Option<ChainFault> {
        if let Some(next) = &self.next {
            if next == stated {
                return None;
            }
            if stated.entries != next.entries {
                return Some(ChainFault::Count { stated: stated.entries, counted: next.entries });
            }
        }
        match Peaks::from_roots(stated.entries, stated.peaks.clone()) {
            Ok(peaks) if peaks.root() == stated.root => self.next.as_ref().map(|_| ChainFault::Earlier { before }),
            _ => Some(ChainFault::Itself),
        }
    }

    /// Moves on by an entry that stated this and has leaf data, as far as either could be read.
    ///
    /// What follows is held against what the entry *stated*, so that an entry is not blamed for one before it.
    /// Hands back the leaf's hash.
    pub(super) fn push(&mut self, stated: Option<&Chain>, leaf_data: Option<&[u8]>) -> Option<Digest> {
        let computed = self.next.take();
        let data = leaf_data?;
        let of_stated = stated.and_then(|stated| stated.after(data).ok());
        self.next = of_stated.or_else(|| computed?.after(data).ok());
        Some(leaf(data))
    }
}
