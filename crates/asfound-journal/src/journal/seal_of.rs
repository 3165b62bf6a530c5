//! What a journal's seal and its proofs are made from: the leaves of its entries.

use asfound_core::names::EntryNumber;

use super::JournalError;
use super::read::{FiledEntry, Journal};
use crate::manifest::{MANIFEST_PATH, Manifest};
use crate::merkle::{Peaks, leaf};
use crate::record::{BLIND_PATH, Blind};
use crate::seal::Seal;
use crate::store::{CommitId, Store};
use crate::{Digest, FilePath};

impl<S: Store> Journal<'_, S> {
    /// The seal over all entries, or over those up to `at`.
    ///
    /// # Errors
    /// When the vehicle has no journal or no such entry, or an entry does not follow from those before.
    pub fn seal(&self, at: Option<EntryNumber>) -> Result<Seal, JournalError> {
        let entries = self.entries()?;
        Ok(Seal::over(&self.leaves(self.until(&entries, at)?)?))
    }

    /// The first of `entries` up to entry `at`, or all of them.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn until<'e>(
        &self,
        entries: &'e [FiledEntry],
        at: Option<EntryNumber>,
    ) -> Result<&'e [FiledEntry], JournalError> {
        let Some(number) = at else { return Ok(entries) };
        let last = entries.last().map_or(EntryNumber::FIRST, |filed| filed.entry.number);
        let some = usize::try_from(number.get()).ok().and_then(|count| entries.get(..count));
        some.ok_or_else(|| JournalError::NoEntry { tag: self.tag.clone(), number, last })
    }

    /// The leaf hashes of `entries`, which are the journal's from the first on. What they are made of is read from the
    /// journal itself, whatever the entries were read from.
    ///
    /// # Errors
    /// When an entry, a manifest or a blind cannot be read, or an entry states another root than the entries before it
    /// have, or the entries are not the journal's.
    pub fn leaves(&self, entries: &[FiledEntry]) -> Result<Vec<Digest>, JournalError> {
        let mut before = Peaks::new();
        let mut leaves = Vec::with_capacity(entries.len());
        let line = self.store.line(&self.tag)?;
        for (at, filed) in entries.iter().enumerate() {
            let there = self.entry_at(&filed.commit)?;
            if there != *filed || line.get(at) != Some(&filed.commit) {
                let what = "the entries are not those of the journal";
                return Err(JournalError::damaged(&self.tag, &filed.commit, &what));
            }
            let stated = &there.chain;
            if stated.entries != before.size() || stated.root != before.root() || stated.peaks != before.roots() {
                let what = "its entry states another root than the entries before it have";
                return Err(JournalError::damaged(&self.tag, &filed.commit, &what));
            }
            let (manifest, blind) = self.manifest(&filed.commit)?;
            let leaf = leaf(&blind.leaf_data(&manifest));
            before.push(leaf);
            leaves.push(leaf);
        }
        Ok(leaves)
    }

    /// The manifest and the blind of an entry.
    ///
    /// # Errors
    /// When one of them cannot be read.
    pub fn manifest(&self, commit: &CommitId) -> Result<(Manifest, Blind), JournalError> {
        let manifest = self.text(commit, MANIFEST_PATH)?.parse();
        let manifest = manifest.map_err(|error| JournalError::damaged(&self.tag, commit, &error))?;
        let blind = self.text(commit, BLIND_PATH)?.parse();
        Ok((manifest, blind.map_err(|error| JournalError::damaged(&self.tag, commit, &error))?))
    }

    /// The text of a file of an entry, which must be what its manifest lists.
    ///
    /// # Errors
    /// When it cannot be read, or is another one.
    pub fn listed_text(&self, commit: &CommitId, manifest: &Manifest, path: &FilePath) -> Result<String, JournalError> {
        let text = self.text(commit, path.as_str())?;
        if manifest.get(path.as_str()) == Some(&Digest::of(text.as_bytes())) {
            Ok(text)
        } else {
            Err(JournalError::damaged(&self.tag, commit, &format!("{path} is not what the manifest lists")))
        }
    }
}
