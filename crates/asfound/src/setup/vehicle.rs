//! One vehicle's journal with everything that explains it.

use std::ops::Deref;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::Entry;
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::state::State;
use asfound_core::trial::TrialBuilder;
use asfound_core::work_order::{WorkOrder, WorkOrders};
use asfound_journal::Digest;
use asfound_journal::garage::Garage;
use asfound_journal::journal::{Basis, EntryIndex, Journal, JournalError};
use asfound_journal::store::{GitStore, Store};
use time::OffsetDateTime;

use super::{JournalHandle, Session, garage_definitions};
use crate::failure::Failure;

/// One vehicle's journal, with the definitions that explain it.
pub struct DefinedJournal {
    listed: JournalHandle,
    /// The definitions that explain its bytes.
    pub definitions: DefinitionSet,
}

impl DefinedJournal {
    /// Finds the journal of a vehicle.
    ///
    /// # Errors
    /// When there is none, with the tags that come close; or it cannot be read.
    pub fn open(session: &Session<'_>, tag: &Tag) -> Result<Self, Failure> {
        Self::of(JournalHandle::open(session, tag)?)
    }

    fn of(listed: JournalHandle) -> Result<Self, Failure> {
        let definitions =
            listed.journal().definitions(&garage_definitions(&listed.garage)?, &listed.index)?.into_owned();
        Ok(Self { listed, definitions })
    }

    /// Those entries of a roll that are asked for, oldest first.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn picked(&self, index: &EntryIndex, mut takes: impl FnMut(&Entry) -> bool) -> Result<Vec<Entry>, Failure> {
        let mut picked = Vec::new();
        for filed in self.journal().each(index) {
            picked.extend(Some(filed?.entry).filter(|entry| takes(entry)));
        }
        Ok(picked)
    }
}

impl Deref for DefinedJournal {
    type Target = JournalHandle;
    fn deref(&self) -> &JournalHandle {
        &self.listed
    }
}

/// One vehicle's journal, with the definitions and the history that follow from it.
pub struct TracedJournal {
    explained: DefinedJournal,
    /// The life of every field.
    pub history: History,
}

impl Deref for TracedJournal {
    type Target = DefinedJournal;
    fn deref(&self) -> &DefinedJournal {
        &self.explained
    }
}

impl TracedJournal {
    /// Reads the journal of a vehicle.
    ///
    /// # Errors
    /// When there is none, with the tags that come close; or it cannot be read.
    pub fn open(session: &Session<'_>, tag: &Tag) -> Result<Self, Failure> {
        Self::of(DefinedJournal::open(session, tag)?)
    }

    /// The same for whoever shows bytes to write: what they rest on is held against the journal itself, and not believed on the
    /// word of the index alone.
    ///
    /// # Errors
    /// When there is none, with the tags that come close; or it cannot be read.
    pub fn open_to_write(session: &Session<'_>, tag: &Tag, basis: &Basis) -> Result<Self, Failure> {
        let known = Self::open(session, tag)?;
        if known.journal().confirms(&known.index, known.state(), &known.definitions, basis)? {
            return Ok(known);
        }
        known.journal().disown_index();
        drop(known);
        Self::open(session, tag)
    }

    /// The same of a journal that was found already.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn of(explained: DefinedJournal) -> Result<Self, Failure> {
        match explained.journal().trace(&explained.index, &explained.definitions, None) {
            Ok(history) => Ok(Self { explained, history }),
            Err(error) => {
                let JournalHandle { garage, tag, index } = explained.listed;
                // Before the journal is called damaged: the index may have told of entries that it does not have.
                let Some(index) = Journal::new(garage.store(), tag.clone()).without_index(&index)? else {
                    return Err(error.into());
                };
                let explained = DefinedJournal::of(JournalHandle { garage, tag, index })?;
                let journal = explained.journal();
                let history = journal.trace(&explained.index, &explained.definitions, None)?;
                journal.note_disagreement();
                Ok(Self { explained, history })
            }
        }
    }

    /// The same in two parts, so that the history can be given up.
    pub fn apart(self) -> (DefinedJournal, History) {
        (self.explained, self.history)
    }

    /// The present state.
    pub fn state(&self) -> &State {
        self.history.state()
    }

    /// What the trials of changes and put-backs follow from, up to an entry or the last.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn trials(&self, at: Option<EntryNumber>) -> Result<TrialBuilder, Failure> {
        Ok(trials_of(&self.journal(), &self.index, at)?)
    }

    /// The entry that was taken from a file with this SHA-256.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn filed_from(&self, source: Digest) -> Result<Option<EntryNumber>, Failure> {
        for filed in self.journal().each(&self.index) {
            let filed = filed?;
            if filed.source == Some(source) {
                return Ok(Some(filed.entry.number));
            }
        }
        Ok(None)
    }

    /// The state after an entry.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn state_at(&self, number: EntryNumber) -> Result<State, Failure> {
        self.known_at(number)?;
        let mut state = State::default();
        for filed in self.journal().each(&self.index).take(count(number)) {
            let tag = || self.tag.clone();
            state.apply(&filed?.entry).map_err(|source| JournalError::Misfit { tag: tag(), source })?;
        }
        Ok(state)
    }

    /// Everything as it was known after an entry: the history goes up to there.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn turn_back(&mut self, number: EntryNumber) -> Result<(), Failure> {
        self.known_at(number)?;
        // Of a long journal two histories at once would take much room.
        self.history = History::default();
        self.history = self.history_at(number)?;
        Ok(())
    }

    /// Everything as it was at a moment, as far as is known now.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn turn_to(&mut self, moment: OffsetDateTime) -> Result<(), Failure> {
        self.history = History::default();
        self.history = self.journal().trace_until(&self.index, &self.definitions, moment)?;
        Ok(())
    }

    /// The life of every field up to an entry, as it was known then.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn history_at(&self, number: EntryNumber) -> Result<History, Failure> {
        Ok(self.journal().trace(&self.index, &self.definitions, Some(number))?)
    }

    /// That there is such an entry.
    fn known_at(&self, number: EntryNumber) -> Result<(), Failure> {
        if self.index.commit(number).is_some() {
            return Ok(());
        }
        Err(JournalError::NoEntry { tag: self.tag.clone(), number, last: self.last() }.into())
    }
}

fn count(number: EntryNumber) -> usize {
    usize::try_from(number.get()).unwrap_or(usize::MAX)
}

/// What the trials of a journal follow from, or of its entries up to one.
///
/// # Errors
/// When an entry cannot be read.
pub fn trials_of(
    journal: &Journal<'_, GitStore>,
    index: &EntryIndex,
    at: Option<EntryNumber>,
) -> Result<TrialBuilder, JournalError> {
    let mut trials = TrialBuilder::default();
    for filed in journal.each(index).take(at.map_or(usize::MAX, count)) {
        trials.push(&filed?.entry);
    }
    Ok(trials)
}

/// The orders of a journal.
///
/// # Errors
/// When an entry cannot be read.
pub fn orders_of(journal: &Journal<'_, GitStore>, index: &EntryIndex) -> Result<Vec<WorkOrder>, JournalError> {
    let mut orders = WorkOrders::default();
    for filed in journal.each(index) {
        orders.push(&filed?.entry);
    }
    Ok(orders.finish())
}

/// Names the tags that come close where a vehicle has no journal.
pub(super) fn closest(garage: &Garage, error: JournalError) -> Failure {
    let nearest = match &error {
        JournalError::NoVehicle(tag) => garage.store().tags().ok().and_then(|tags| {
            let near = |other: &Tag| strsim::damerau_levenshtein(other.as_str(), tag.as_str());
            tags.into_iter().filter(|other| near(other) <= 2).min_by_key(near)
        }),
        _ => None,
    };
    let failure = Failure::from(error);
    match nearest {
        Some(tag) => failure.hint(format!("did you mean `{tag}`?")),
        None => failure,
    }
}
