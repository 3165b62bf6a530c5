//! A place with which journals are shared, and the references that tell what it has.

use std::collections::BTreeMap;

use asfound_core::names::Tag;

use crate::Digest;
use crate::store::{CommitId, GitStore, KEPT, StoreError};

/// A place with which journals are shared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharePlace {
    id: String,
}

impl SharePlace {
    /// The place at an address, always written the same way.
    pub fn at(address: &str) -> Self {
        Self { id: Digest::of(address.as_bytes()).to_string()[..16].to_owned() }
    }

    /// Below this prefix lies what the place had when it was last asked: `heads/<tag>` and `kept/<tag>/<commit>`.
    pub fn incoming(&self) -> String {
        format!("refs/incoming/{}/", self.id)
    }

    /// The journals that the place had when it was last asked.
    ///
    /// # Errors
    /// When the references cannot be read.
    pub fn journals(&self, store: &GitStore) -> Result<BTreeMap<Tag, CommitId>, StoreError> {
        let found = store.references_below(&format!("{}heads/", self.incoming()))?;
        Ok(found.into_iter().filter_map(|(name, tip)| Some((name.parse().ok()?, tip))).collect())
    }

    /// The kept lines that the place had when it was last asked, by vehicle.
    ///
    /// # Errors
    /// When the references cannot be read.
    pub fn kept(&self, incoming: &GitStore) -> Result<BTreeMap<Tag, Vec<CommitId>>, StoreError> {
        let found = incoming.references_below(&format!("{}kept/", self.incoming()))?;
        let named = |(name, tip): (String, CommitId)| {
            let (tag, commit) = name.split_once('/')?;
            // A kept line is named by its last commit; anything else is none.
            (commit == tip.as_str()).then_some((tag.parse().ok()?, tip))
        };
        let mut kept: BTreeMap<Tag, Vec<CommitId>> = BTreeMap::new();
        for (tag, tip) in found.into_iter().filter_map(named) {
            kept.entry(tag).or_default().push(tip);
        }
        Ok(kept)
    }

    /// The kept lines that this garage has and the place has not, as references.
    ///
    /// # Errors
    /// When the references cannot be read.
    pub fn kept_to_send(&self, store: &GitStore, incoming: &GitStore) -> Result<Vec<(String, CommitId)>, StoreError> {
        let there = incoming.references_below(&format!("{}kept/", self.incoming()))?;
        let here = store.references_below(KEPT)?;
        let missing = here.into_iter().filter(|(name, _)| !there.contains_key(name));
        Ok(missing.map(|(name, tip)| (format!("{KEPT}{name}"), tip)).collect())
    }

    fn seen_name(&self, tag: &Tag) -> String {
        format!("refs/seen/{}/{tag}", self.id)
    }

    /// The end of each journal that the place was last seen to have, and that was found in order.
    pub(super) fn seen(&self, store: &GitStore) -> Result<BTreeMap<Tag, CommitId>, StoreError> {
        let found = store.references_below(&format!("refs/seen/{}/", self.id))?;
        Ok(found.into_iter().filter_map(|(name, tip)| Some((name.parse().ok()?, tip))).collect())
    }

    /// Remembers that the place has this journal up to here. From now on it must not have less.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn remember(&self, store: &GitStore, tag: &Tag, tip: &CommitId) -> Result<(), StoreError> {
        store.set_reference(&self.seen_name(tag), tip)
    }

    /// Forgets what the place was seen to have of a journal, so that whatever it has now is looked at as if for the first
    /// time.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn forget(&self, store: &GitStore, tag: &Tag) -> Result<(), StoreError> {
        store.drop_reference(&self.seen_name(tag))
    }
}
