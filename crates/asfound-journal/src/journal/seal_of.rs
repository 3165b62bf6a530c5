//! What a journal's seal and its proofs are made from: the leaves of its entries.

use asfound_core::names::EntryNumber;

use super::JournalError;
use super::entry_index::EntryIndex;
use super::read::Journal;
use crate::entry_files::{BLIND_PATH, Blind};
use crate::index;
use crate::manifest::{MANIFEST_PATH, Manifest};
use crate::merkle::{Peaks, leaf};
use crate::seal::Seal;
use crate::store::{CommitId, Store};
use crate::{Digest, FilePath};

impl<S: Store> Journal<'_, S> {
    /// The seal over all entries, or over those up to `at`.
    ///
    /// # Errors
    /// When the vehicle has no journal or no such entry, or an entry does not follow from those before.
    pub fn seal(&self, at: Option<EntryNumber>) -> Result<Seal, JournalError> {
        Ok(Seal::over(&self.leaves(&self.index()?, at)?))
    }

    /// The leaf hashes of the entries of a roll, or of those up to `at`. What they are made of is read from the journal
    /// itself, whatever the entries were read from.
    ///
    /// # Errors
    /// When there is no such entry, an entry, a manifest or a blind cannot be read, or an entry states another root than the
    /// entries before it have, or the entries are not the journal's.
    pub fn leaves(&self, index: &EntryIndex, at: Option<EntryNumber>) -> Result<Vec<Digest>, JournalError> {
        let mut before = Peaks::new();
        let commits = self.upto(index, at)?;
        let mut leaves = Vec::with_capacity(commits.len());
        // Up to where the roll goes, whatever was filed since.
        let tip = index.last().and_then(|last| index.commit(last));
        let line = tip.map_or_else(|| Ok(Vec::new()), |tip| self.store.line_to(&tip))?;
        for (filed, of_journal) in index::each(self, commits).zip(line.iter().map(Some).chain(std::iter::repeat(None)))
        {
            let there = of_journal.map(|commit| self.entry_at(commit)).transpose()?;
            let filed = filed?;
            let Some(there) = there.filter(|there| *there == filed) else {
                let what = "the entries are not those of the journal";
                return Err(if index.indexed > 0 {
                    self.disown_index();
                    JournalError::IndexDisagreed(self.tag.clone())
                } else {
                    JournalError::damaged(&self.tag, &filed.commit, &what)
                });
            };
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
