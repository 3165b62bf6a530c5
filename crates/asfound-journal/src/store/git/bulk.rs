//! Files many entries at once: their objects in one pack, their references last.
//!
//! Each entry is as durable as one that is filed alone, but none is there before the whole portion is: the pack is written, taken apart
//! again and synced first, then the references are moved, each by compare-and-set. Killed in between, a portion is there for
//! some journals and not for others, and each of these has either none or all of its entries of the portion.

use std::cell::RefCell;
use std::collections::BTreeMap;

use asfound_core::names::Tag;

use super::lock_timeouts::LockWait;
use super::next_tip::{NextTip, settle};
use super::packing::add_pack;
use super::pending::{PendingObjects, sync_content};
use super::{GitStore, read, tip};
use crate::durable;
use crate::store::{CommitId, StoreError};

/// How many journals are moved together. Two files are open for each, and some systems allow a program no more than 256.
const AT_ONCE: usize = 32;

/// A journal that is to go on: its vehicle, the end that it has, and the one that it is to have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct JournalMove {
    pub(crate) tag: Tag,
    pub(crate) from: Option<CommitId>,
    pub(crate) to: CommitId,
}

impl GitStore {
    /// Lets `work` make entries, then writes all that were made, and moves the journals that it names. Hands back those that
    /// have moved on meanwhile, which are as they were found.
    ///
    /// # Errors
    /// When the disk refuses; journals may have been moved by then, each as a whole.
    pub(crate) fn in_one_pack(
        &self,
        work: impl FnOnce(&RefCell<PendingObjects>) -> Vec<JournalMove>,
    ) -> Result<Vec<Tag>, StoreError> {
        let fresh = RefCell::default();
        let moves = work(&fresh);
        {
            let mut waiting = LockWait::start(self.timeouts);
            let _lock = self.writer_lock("_bulk", "the garage", &mut waiting)?;
            add_pack(self, &fresh.into_inner())?;
        }
        self.move_all(&moves)
    }

    fn move_all(&self, moves: &[JournalMove]) -> Result<Vec<Tag>, StoreError> {
        let mut waiting = LockWait::start(self.timeouts);
        let mut overtaken = Vec::new();
        // Everybody takes several locks in one order, so that nobody waits for somebody who waits for him.
        let in_order: BTreeMap<&Tag, &JournalMove> = moves.iter().map(|next| (&next.tag, next)).collect();
        let in_order: Vec<&JournalMove> = in_order.into_values().collect();
        for some in in_order.chunks(AT_ONCE) {
            let (mut ready, mut put) = (Vec::with_capacity(some.len()), Vec::with_capacity(some.len()));
            for next in some {
                let what = format!("the journal of `{}`", next.tag);
                let lock = self.writer_lock(next.tag.as_str(), &what, &mut waiting)?;
                let from = next.from.as_ref().map(|id| read::oid(id.as_str()));
                if tip::tip(&self.repository, &next.tag)? != from {
                    overtaken.push(next.tag.clone());
                    continue;
                }
                self.check_not_set_back(&next.tag, next.from.as_ref())?;
                let to = read::oid(next.to.as_str());
                ready.push((NextTip::write(self, &next.tag, to)?, from, lock));
                put.push((&next.tag, to));
            }
            let contents: Vec<_> = ready.iter().map(|(next, ..)| next.content()).collect();
            durable::all_at_once(&contents, sync_content)?;
            for (next, from, _lock) in &ready {
                next.put(*from, &mut waiting)?;
            }
            // As long as the locks are held: nobody can have gone on from there yet.
            settle(self, put)?;
        }
        Ok(overtaken)
    }
}
