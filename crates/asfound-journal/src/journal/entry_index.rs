//! The entries of a journal, gone through as often as is wanted without all of them being at hand at once.

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Entry, IdentityEffect};
use asfound_core::history::{History, HistoryBuilder};
use asfound_core::names::EntryNumber;
use time::{OffsetDateTime, PrimitiveDateTime};

use super::JournalError;
use super::read::{FiledEntry, Journal};
use crate::index::{self, IndexEnd};
use crate::store::{CommitId, Store};

/// Which entries a journal has up to some tip: their commits, and what has to be known before they are gone through.
#[derive(Debug, Clone, Default)]
pub struct EntryIndex {
    pub(crate) commits: Vec<[u8; 20]>,
    pub(crate) identities: Vec<IdentityEffect>,
    /// Where the index of the journal ends, so that it can be extended.
    pub(crate) place: Option<IndexEnd>,
    /// How many of the entries, from the first on, the index told.
    pub(crate) indexed: usize,
}

impl EntryIndex {
    /// How many entries there are.
    pub fn len(&self) -> usize {
        self.commits.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.commits.is_empty()
    }

    /// The number of the last entry.
    pub fn last(&self) -> Option<EntryNumber> {
        EntryNumber::new(u32::try_from(self.len()).ok()?)
    }

    /// The commit of an entry; nothing where there is no such entry.
    pub fn commit(&self, number: EntryNumber) -> Option<CommitId> {
        let at = usize::try_from(number.get()).ok()?.checked_sub(1)?;
        index::commit_id(*self.commits.get(at)?)
    }

    /// What the entries say of modules whose identity differs, in order.
    pub fn identities(&self) -> &[IdentityEffect] {
        &self.identities
    }

    /// Takes in an entry that was filed behind the others.
    pub(crate) fn push(&mut self, filed: &FiledEntry) {
        self.commits.extend(index::id_bytes(filed.commit.as_str()));
        let effects = filed.entry.body.effects();
        self.identities.extend(effects.into_iter().flat_map(|effects| effects.identities.iter().cloned()));
    }

    /// The first entries up to `at`, or all of them.
    fn upto(&self, at: Option<EntryNumber>) -> Option<&[[u8; 20]]> {
        let Some(number) = at else { return Some(&self.commits) };
        self.commits.get(..usize::try_from(number.get()).ok()?)
    }
}

impl<'e> FromIterator<&'e FiledEntry> for EntryIndex {
    fn from_iter<I: IntoIterator<Item = &'e FiledEntry>>(entries: I) -> Self {
        let mut index = Self::default();
        entries.into_iter().for_each(|filed| index.push(filed));
        index
    }
}

impl<'s, S: Store> Journal<'s, S> {
    /// The entries that the journal has now.
    ///
    /// # Errors
    /// When the vehicle has no journal, or an entry cannot be read.
    pub fn index(&self) -> Result<EntryIndex, JournalError> {
        index::index(self, &self.tip()?)
    }

    /// The entries of a roll, one after the other, oldest first.
    pub fn each<'r>(
        &'r self,
        index: &'r EntryIndex,
    ) -> impl Iterator<Item = Result<FiledEntry, JournalError>> + use<'r, 's, S> {
        index::each(self, &index.commits)
    }

    /// One entry of a roll.
    ///
    /// # Errors
    /// When there is no such entry, or it cannot be read.
    pub fn numbered(&self, index: &EntryIndex, number: EntryNumber) -> Result<FiledEntry, JournalError> {
        let commit = index.commit(number).ok_or_else(|| self.no_entry(index, number))?;
        let found = self.entry_at(&commit);
        if found.as_ref().is_ok_and(|filed| filed.entry.number == number) || index.indexed == 0 {
            return found;
        }
        // Before the journal is called damaged: the index may have told of another commit than the journal has there.
        match self.commit_in_line(index, number)? {
            Some(there) if there != commit => {
                self.disown_index();
                self.entry_at(&there)
            }
            _ => found,
        }
    }

    /// The commit that the journal itself has in the place of an entry.
    fn commit_in_line(&self, index: &EntryIndex, number: EntryNumber) -> Result<Option<CommitId>, JournalError> {
        let Some(tip) = index.last().and_then(|last| index.commit(last)) else { return Ok(None) };
        let at = usize::try_from(number.get() - 1).unwrap_or(usize::MAX);
        Ok(self.store.line_to(&tip)?.into_iter().nth(at))
    }

    /// The life of every field up to the end of a roll, or to entry `at`.
    ///
    /// # Errors
    /// When there is no such entry, an entry cannot be read, or the entries do not follow from each other.
    pub fn trace(
        &self,
        index: &EntryIndex,
        definitions: &DefinitionSet,
        at: Option<EntryNumber>,
    ) -> Result<History, JournalError> {
        Ok(self.tracing(index, definitions, at)?.finish())
    }

    /// What was so at a moment, as far as the entries of a roll know it: the life of every field from what certainly happened
    /// by then.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn trace_until(
        &self,
        index: &EntryIndex,
        definitions: &DefinitionSet,
        until: OffsetDateTime,
    ) -> Result<History, JournalError> {
        Ok(self.tracing(index, definitions, None)?.until(until)?)
    }

    /// What is so now, told in the order of the moments, if one more entry were there.
    ///
    /// # Errors
    /// When an entry cannot be read, or the other one does not follow.
    pub fn trace_with(
        &self,
        index: &EntryIndex,
        definitions: &DefinitionSet,
        other: &Entry,
    ) -> Result<History, JournalError> {
        let mut tracing = self.tracing(index, definitions, None)?;
        tracing.entry(other)?;
        Ok(tracing.until(PrimitiveDateTime::MAX.assume_utc())?)
    }

    pub(super) fn tracing<'d>(
        &self,
        index: &EntryIndex,
        definitions: &'d DefinitionSet,
        at: Option<EntryNumber>,
    ) -> Result<HistoryBuilder<'d>, JournalError> {
        let mut tracing = HistoryBuilder::new(definitions);
        for filed in index::each(self, self.upto(index, at)?) {
            tracing.entry(&filed?.entry)?;
        }
        Ok(tracing)
    }

    /// The commits of a roll up to entry `at`, or all of them.
    pub(super) fn upto<'r>(
        &self,
        index: &'r EntryIndex,
        at: Option<EntryNumber>,
    ) -> Result<&'r [[u8; 20]], JournalError> {
        index.upto(at).ok_or_else(|| self.no_entry(index, at.unwrap_or(EntryNumber::FIRST)))
    }

    fn no_entry(&self, index: &EntryIndex, number: EntryNumber) -> JournalError {
        JournalError::NoEntry { tag: self.tag.clone(), number, last: index.last().unwrap_or(EntryNumber::FIRST) }
    }
}
