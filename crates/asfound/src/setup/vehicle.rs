//! One vehicle's journal with everything that explains it.

use std::collections::BTreeMap;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{Entry, IdentityEffect};
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::state::State;
use asfound_core::trial::{TrialState, trials};
use asfound_journal::garage::Garage;
use asfound_journal::journal::{FiledEntry, Journal, JournalError};
use asfound_journal::store::{CommitId, GitStore, Store};

use super::{Session, garage_definitions};
use crate::failure::Failure;

/// One vehicle's journal, read whole, with the definitions and the history that follow.
pub struct Known {
    /// The garage.
    pub garage: Garage,
    /// The vehicle's tag.
    pub tag: Tag,
    /// Its entries, oldest first.
    pub entries: Vec<FiledEntry>,
    /// The definitions that explain its bytes.
    pub definitions: DefinitionSet,
    /// The life of every field.
    pub history: History,
}

impl Known {
    /// Reads the journal of a vehicle.
    ///
    /// # Errors
    /// When there is none, with the tags that come close; or it cannot be read.
    pub fn open(session: &Session<'_>, tag: &Tag) -> Result<Self, Failure> {
        let garage = session.garage()?;
        let entries = Journal::new(garage.store(), tag.clone()).entries().map_err(|error| closest(&garage, error))?;
        let definitions = definitions_of(&garage, tag, &entries)?;
        let history =
            History::trace(entries.iter().map(|filed| &filed.entry), &definitions).map_err(JournalError::from)?;
        Ok(Self { garage, tag: tag.clone(), entries, definitions, history })
    }

    /// The journal itself.
    pub fn journal(&self) -> Journal<'_, GitStore> {
        Journal::new(self.garage.store(), self.tag.clone())
    }

    /// The present state.
    pub fn state(&self) -> &State {
        self.history.state()
    }

    /// An entry by number.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn entry(&self, number: EntryNumber) -> Result<&FiledEntry, Failure> {
        let index = usize::try_from(number.get() - 1).unwrap_or(usize::MAX);
        self.entries.get(index).ok_or_else(|| {
            let last = self.entries.last().map_or(EntryNumber::FIRST, |filed| filed.entry.number);
            JournalError::NoEntry { tag: self.tag.clone(), number, last }.into()
        })
    }

    /// How the trial of every change and put-back stands.
    pub fn trials(&self) -> BTreeMap<EntryNumber, TrialState> {
        let entries = self.entries.iter().map(|filed| &filed.entry);
        trials(entries, &self.history).into_iter().map(|trial| (trial.entry, trial.state)).collect()
    }

    /// The state after an entry.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn state_at(&self, number: EntryNumber) -> Result<State, Failure> {
        Ok(self.journal().state(&self.entries, Some(number))?)
    }

    /// The life of every field up to an entry, as it was known then.
    ///
    /// # Errors
    /// When there is no such entry.
    pub fn history_at(&self, number: EntryNumber) -> Result<History, Failure> {
        self.entry(number)?;
        let until: Vec<Entry> = lines(&self.entries).into_iter().filter(|entry| entry.number <= number).collect();
        Ok(History::trace(&until, &self.definitions).map_err(JournalError::from)?)
    }
}

fn lines(entries: &[FiledEntry]) -> Vec<Entry> {
    entries.iter().map(|filed| filed.entry.clone()).collect()
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

/// The garage's definitions, and those that the journal carries for modules that the garage's do not fit.
///
/// The garage's come first: a better definition explains old entries better.
///
/// # Errors
/// When a definition file of the garage cannot be used: it names the file and every problem.
pub fn definitions_of(garage: &Garage, tag: &Tag, entries: &[FiledEntry]) -> Result<DefinitionSet, Failure> {
    explained_by(&garage_definitions(garage)?, &Journal::new(garage.store(), tag.clone()), entries)
}

/// The garage's definitions together with those of the journal that are needed.
///
/// # Errors
/// When a pinned definition is needed, and one of them cannot be read.
pub fn explained_by(
    garage: &DefinitionSet,
    journal: &Journal<'_, GitStore>,
    entries: &[FiledEntry],
) -> Result<DefinitionSet, Failure> {
    let Some(last) = entries.last() else { return Ok(garage.clone()) };
    let effects = entries.iter().filter_map(|filed| filed.entry.body.effects());
    let identities: Vec<_> = effects.flat_map(|effects| &effects.identities).collect();
    Ok(with_pinned(garage, journal, &last.commit, &identities)?.unwrap_or_else(|| garage.clone()))
}

/// The definitions together with those pinned at `last` that are needed for modules of these identities; nothing where
/// none is.
///
/// # Errors
/// When a pinned definition is needed, and one of them cannot be read.
pub(super) fn with_pinned(
    garage: &DefinitionSet,
    journal: &Journal<'_, GitStore>,
    last: &CommitId,
    identities: &[&IdentityEffect],
) -> Result<Option<DefinitionSet>, Failure> {
    let unfit = |definitions: &DefinitionSet, effect: &IdentityEffect| {
        matches!(definitions.fitting(&effect.module, &effect.left), Ok(None))
    };
    if !identities.iter().any(|effect| unfit(garage, effect)) {
        return Ok(None);
    }
    let mut definitions = garage.clone();
    for (name, bytes) in journal.pinned_definitions(last)? {
        let Some(pinned) = std::str::from_utf8(&bytes).ok().and_then(|text| Definition::parse(text).ok()) else {
            return Err(Failure::damaged(format!(
                "the journal of `{}` carries a definition {name} that cannot be read",
                journal.tag()
            )));
        };
        let applies_to = pinned.definition.applies_to();
        let fits = |effect: &IdentityEffect| applies_to.fits(&effect.module, &effect.left);
        if identities.iter().any(|effect| fits(effect) && unfit(&definitions, effect)) {
            // The same name in the garage stands for something else now; the garage's own is kept.
            let _ = definitions.add(pinned.definition);
        }
    }
    Ok(Some(definitions))
}
