//! One vehicle's journal of which it is known which entries it has, and no more.

use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::garage::Garage;
use asfound_journal::journal::{EntryIndex, FiledEntry, Journal};
use asfound_journal::store::GitStore;

use super::Session;
use super::vehicle::closest;
use crate::failure::Failure;

/// One vehicle's journal, with its entries by number: for what asks nothing of the life of a field, which takes some room
/// and time where a journal is long.
pub struct JournalHandle {
    /// The garage.
    pub garage: Garage,
    /// The vehicle's tag.
    pub tag: Tag,
    /// Which entries it has.
    pub index: EntryIndex,
}

impl JournalHandle {
    /// Finds the journal of a vehicle.
    ///
    /// # Errors
    /// When there is none, with the tags that come close; or it cannot be read.
    pub fn open(session: &Session<'_>, tag: &Tag) -> Result<Self, Failure> {
        let garage = session.garage()?;
        let index = Journal::new(garage.store(), tag.clone()).index().map_err(|error| {
            session.note_set_back(&garage, tag, None);
            closest(&garage, error)
        })?;
        session.note_set_back(&garage, tag, index.last().and_then(|last| index.commit(last)).as_ref());
        Ok(Self { garage, tag: tag.clone(), index })
    }

    /// The journal itself.
    pub fn journal(&self) -> Journal<'_, GitStore> {
        Journal::new(self.garage.store(), self.tag.clone())
    }

    /// The number of the last entry.
    pub fn last(&self) -> EntryNumber {
        self.index.last().unwrap_or(EntryNumber::FIRST)
    }

    /// An entry by number.
    ///
    /// # Errors
    /// When there is no such entry, or it cannot be read.
    pub fn entry(&self, number: EntryNumber) -> Result<FiledEntry, Failure> {
        Ok(self.journal().numbered(&self.index, number)?)
    }
}
