//! Why a journal cannot be read or added to.

use asfound_core::history::HistoryError;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::state::InvalidEffect;
use thiserror::Error;

use crate::entry_files::{EntryFileError, VehicleFileError};
use crate::merkle::PeaksError;
use crate::store::{CommitId, StoreError};
use crate::{FailureKind, FilePathError};

/// Why a journal cannot be read or added to.
#[derive(Debug, Error)]
pub enum JournalError {
    /// The vehicle has no journal.
    #[error("there is no vehicle `{0}` in this garage")]
    NoVehicle(Tag),
    /// The vehicle has a journal already.
    #[error("`{0}` is enrolled already")]
    Enrolled(Tag),
    /// The journal has no such entry.
    #[error("the journal of `{tag}` has no entry {number}: its last is {last}")]
    NoEntry {
        /// The vehicle.
        tag: Tag,
        /// The number asked for.
        number: EntryNumber,
        /// The last entry there is.
        last: EntryNumber,
    },
    /// The store cannot be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A file of an entry is damaged.
    #[error("the journal of `{tag}` is damaged at commit {commit}: {what}")]
    Damaged {
        /// The vehicle.
        tag: Tag,
        /// The commit.
        commit: CommitId,
        /// What is wrong there.
        what: String,
    },
    /// The entries do not follow from each other.
    #[error("the journal of `{tag}` is damaged: {source}")]
    Misfit {
        /// The vehicle.
        tag: Tag,
        /// What does not follow.
        #[source]
        source: InvalidEffect,
    },
    /// The history cannot be told.
    #[error(transparent)]
    History(#[from] HistoryError),
    /// An attached file has a name that no path can hold.
    #[error(transparent)]
    Path(#[from] FilePathError),
    /// The garage's clock is not usable, or the entry cannot be stored for another reason.
    #[error("the entry cannot be stored: {0}")]
    Unfit(String),
    /// What was read from the index is not what the journal says; the index was thrown away.
    #[error("the index of `{0}` did not agree with the journal; it was thrown away")]
    IndexDisagreed(Tag),
    /// Other programs keep appending.
    #[error("the journal of `{0}` kept moving while the entry was filed; nothing was filed")]
    KeepsMoving(Tag),
}

impl JournalError {
    /// What kind of failure it is.
    pub fn kind(&self) -> FailureKind {
        match self {
            Self::NoVehicle(_) | Self::NoEntry { .. } => FailureKind::NotFound,
            Self::Enrolled(_) | Self::Unfit(_) | Self::Path(_) => FailureKind::Input,
            Self::KeepsMoving(_) | Self::IndexDisagreed(_) => FailureKind::Busy,
            Self::Store(error) => error.kind(),
            Self::Damaged { .. } | Self::Misfit { .. } | Self::History(_) => FailureKind::Damaged,
        }
    }

    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::NoVehicle(tag) => {
                Some(format!("`asfound vehicles` lists them; `asfound enrol {tag}` starts a journal"))
            }
            Self::Enrolled(tag) => Some(format!("choose another tag, or look at it with `asfound entries {tag}`")),
            Self::NoEntry { tag, .. } => Some(format!("`asfound entries {tag}` lists them")),
            Self::KeepsMoving(_) | Self::IndexDisagreed(_) => Some("try again".into()),
            Self::Store(error) => error.hint(),
            _ => None,
        }
    }

    pub(super) fn damaged(tag: &Tag, commit: &CommitId, what: &impl ToString) -> Self {
        Self::Damaged { tag: tag.clone(), commit: commit.clone(), what: what.to_string() }
    }
}

/// Why an entry was not filed: the journal's reasons, or those of whoever wanted to file it.
#[derive(Debug)]
pub enum FileError<E> {
    /// The journal cannot be read or added to.
    Journal(JournalError),
    /// The entry was refused, given what the journal holds.
    Refused(E),
}

impl<E> From<JournalError> for FileError<E> {
    fn from(error: JournalError) -> Self {
        Self::Journal(error)
    }
}

impl<E> From<StoreError> for FileError<E> {
    fn from(error: StoreError) -> Self {
        Self::Journal(error.into())
    }
}

// What can go wrong inside one commit, told apart only by its text.
pub(super) fn entry_text(error: &EntryFileError) -> String {
    error.to_string()
}

pub(super) fn vehicle_text(error: &VehicleFileError) -> String {
    error.to_string()
}

pub(super) fn peaks_text(error: &PeaksError) -> String {
    error.to_string()
}
