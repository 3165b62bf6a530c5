//! Reads a vehicle's journal.

use asfound_core::entry::{Entry, Vehicle};
use asfound_core::history::OneSetting;
use asfound_core::names::{EntryNumber, Tag};

use super::JournalError;
use super::error::{entry_text, vehicle_text};
use crate::Digest;
use crate::entry_files::{Chain, EntryFile, ReplayOrigin, Salt, VehicleFile};
use crate::index;
use crate::sign::{AllowedSigners, Meaning, SignatureState, SignedAs, Signer, verify};
use crate::store::{Commit, CommitId, Store};

/// An entry with the commit that holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FiledEntry {
    /// The commit.
    pub commit: CommitId,
    /// The entry.
    pub entry: Entry,
    /// How it is tied to the entries before it.
    pub chain: Chain,
    /// What it says of its own signature; nothing where it was filed without one.
    pub signed: Option<SignedAs>,
    /// Its random text, which it keeps wherever it stands.
    pub salt: Salt,
    /// Where it stood before, where it was brought together with the entries of another bench.
    pub replayed: Option<ReplayOrigin>,
    /// The SHA-256 of the file that it was taken from, where that was told.
    pub source: Option<Digest>,
}

/// How new entries are signed.
#[derive(Debug, Clone, Copy)]
pub struct Signing<'s> {
    /// The key.
    pub signer: &'s dyn Signer,
    /// What is meant, where it is not what [`Meaning::of`] says.
    pub meaning: Option<Meaning>,
}

/// One vehicle's journal in a store.
#[derive(Debug, Clone)]
pub struct Journal<'s, S: Store> {
    pub(crate) store: &'s S,
    pub(super) tag: Tag,
    pub(super) signing: Option<Signing<'s>>,
    pub(super) replayed: Option<ReplayOrigin>,
    pub(super) source: Option<Digest>,
}

impl<'s, S: Store> Journal<'s, S> {
    /// The journal of `tag`, whether it is there yet or not.
    pub fn new(store: &'s S, tag: Tag) -> Self {
        Self { store, tag, signing: None, replayed: None, source: None }
    }

    /// The same journal, whose new entries are signed.
    #[must_use]
    pub fn signing(mut self, signing: Option<Signing<'s>>) -> Self {
        self.signing = signing;
        self
    }

    /// The same journal, whose next entry stood elsewhere before.
    #[must_use]
    pub(crate) fn replaying(mut self, replayed: ReplayOrigin) -> Self {
        self.replayed = Some(replayed);
        self
    }

    /// The same journal, whose next entry is taken from a file with this SHA-256.
    #[must_use]
    pub fn taking_from(mut self, source: Option<Digest>) -> Self {
        self.source = source;
        self
    }

    /// The vehicle's tag.
    pub fn tag(&self) -> &Tag {
        &self.tag
    }

    /// Whether the vehicle has a journal.
    pub fn exists(&self) -> Result<bool, JournalError> {
        Ok(self.store.tip(&self.tag)?.is_some())
    }

    /// All entries at once, oldest first; [`Journal::each`] goes through them one by one.
    ///
    /// # Errors
    /// When the vehicle has no journal, or an entry cannot be read.
    pub fn entries(&self) -> Result<Vec<FiledEntry>, JournalError> {
        self.each(&self.index()?).collect()
    }

    /// The parts of the entries up to `tip` that bear on one setting, oldest first ([`OneSetting::part_of`]).
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn parts_of(&self, tip: &CommitId, one: &OneSetting) -> Result<Vec<Entry>, JournalError> {
        index::parts_of(self, tip, one)
    }

    /// The newest commit of the journal.
    ///
    /// # Errors
    /// When the vehicle has no journal, or its tip cannot be read.
    pub fn tip(&self) -> Result<CommitId, JournalError> {
        self.store.tip(&self.tag)?.ok_or_else(|| JournalError::NoVehicle(self.tag.clone()))
    }

    /// The entries of commits, as they come.
    pub(crate) fn entries_of(&self, line: &[CommitId]) -> Result<Vec<FiledEntry>, JournalError> {
        line.iter().map(|commit| self.entry_at(commit)).collect()
    }

    /// The last entry.
    pub fn last(&self) -> Result<FiledEntry, JournalError> {
        let tip = self.tip()?;
        self.entry_at(&tip)
    }

    /// The vehicle that the journal is about.
    ///
    /// # Errors
    /// When the vehicle has no journal, or `vehicle.toml` cannot be read.
    pub fn vehicle(&self) -> Result<Vehicle, JournalError> {
        let tip = self.tip()?;
        let text = self.text(&tip, "vehicle.toml")?;
        let file =
            VehicleFile::parse(&text).map_err(|error| JournalError::damaged(&self.tag, &tip, &vehicle_text(&error)))?;
        Ok(file.into_vehicle())
    }

    /// The definitions that an entry's commit carries: name and text.
    pub fn pinned_definitions(&self, commit: &CommitId) -> Result<Vec<(String, Vec<u8>)>, JournalError> {
        let listing = self.store.commit(commit)?;
        let mut definitions = Vec::new();
        for (path, blob) in &listing.files {
            if let Some(name) = path.strip_prefix("definitions/").and_then(|name| name.strip_suffix(".toml")) {
                definitions.push((name.to_owned(), self.store.read(blob)?));
            }
        }
        Ok(definitions)
    }

    /// The files attached to an entry: name and content.
    pub fn evidence(&self, commit: &CommitId, entry: EntryNumber) -> Result<Vec<(String, Vec<u8>)>, JournalError> {
        let prefix = format!("evidence/{entry}/");
        let listing = self.store.commit(commit)?;
        let attached = listing.files.iter().filter_map(|(path, blob)| Some((path.strip_prefix(&prefix)?, blob)));
        attached.map(|(name, blob)| Ok((name.to_owned(), self.store.read(blob)?))).collect()
    }

    /// What the signature of an entry is worth, held against what the entry says of it.
    ///
    /// # Errors
    /// When its commit cannot be read.
    pub fn signature(&self, filed: &FiledEntry, allowed: &AllowedSigners) -> Result<SignatureState, JournalError> {
        let text = self.store.commit_text(&filed.commit)?;
        Ok(verify(&text, allowed).held_against(filed.signed.as_ref()))
    }

    pub(super) fn listing(&self, commit: &CommitId) -> Result<Commit, JournalError> {
        Ok(self.store.commit(commit)?)
    }

    pub(crate) fn entry_at(&self, commit: &CommitId) -> Result<FiledEntry, JournalError> {
        let damaged = |what: String| JournalError::damaged(&self.tag, commit, &what);
        let text = self.text(commit, "entry.toml")?;
        let file = EntryFile::parse(&text).map_err(|error| damaged(entry_text(&error)))?;
        let (chain, signed) = (file.chain().clone(), file.signed());
        let (salt, replayed, source) = (file.salt().clone(), file.stood_before().cloned(), file.source());
        let vehicle_text_of = self.vehicle_text(commit, chain.entries)?;
        let vehicle = match vehicle_text_of {
            Some(text) => Some(VehicleFile::parse(&text).map_err(|e| damaged(vehicle_text(&e)))?.into_vehicle()),
            None => None,
        };
        let entry = file.into_entry(|| vehicle).map_err(|error| damaged(entry_text(&error)))?;
        Ok(FiledEntry { commit: commit.clone(), entry, chain, signed, salt, replayed, source })
    }

    /// The text of `vehicle.toml`, which only the first entry needs.
    fn vehicle_text(&self, commit: &CommitId, before: u64) -> Result<Option<String>, JournalError> {
        if before == 0 { self.text(commit, "vehicle.toml").map(Some) } else { Ok(None) }
    }

    pub(super) fn text(&self, commit: &CommitId, path: &str) -> Result<String, JournalError> {
        let bytes = self.store.file(commit, path)?;
        String::from_utf8(bytes).map_err(|_| JournalError::damaged(&self.tag, commit, &format!("{path} is no UTF-8")))
    }
}
