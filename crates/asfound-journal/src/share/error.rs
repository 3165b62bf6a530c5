//! Why a journal is not shared.

use asfound_core::names::{EntryNumber, Tag};
use thiserror::Error;

use super::Obstacle;
use crate::audit::Finding;
use crate::journal::JournalError;
use crate::store::StoreError;

/// Why a journal is not shared. It is then as it was, here and there.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ShareError {
    /// The place had entries that it has no longer.
    #[error(
        "the journal of `{tag}` was rewritten there: its entry {number} is not the one that it had when it was last shared"
    )]
    Rewritten {
        /// The vehicle.
        tag: Tag,
        /// The first entry that is gone or another one.
        number: EntryNumber,
    },
    /// The place had a journal that it has no longer.
    #[error("the journal of `{0}` is gone there, which had it when it was last shared")]
    Gone(Tag),
    /// Both have a journal of that name, and they have no entry in common.
    #[error("`{0}` was enrolled here and there, and the two journals have no entry in common")]
    StartedApart(Tag),
    /// What the place has is not sound.
    #[error("the journal of `{tag}` there is not sound: {finding}")]
    Unsound {
        /// The vehicle.
        tag: Tag,
        /// The first thing that is wrong.
        finding: Box<Finding>,
    },
    /// The place cannot hand over what it has.
    #[error("the journal of `{tag}` cannot be had from there: {said}")]
    Unreadable {
        /// The vehicle.
        tag: Tag,
        /// What was said of it.
        said: String,
    },
    /// An entry stands in both and says something else there.
    #[error("entry {number} of `{tag}` here is entry {there} there, and says something else there")]
    SaysOtherwise {
        /// The vehicle.
        tag: Tag,
        /// Its number here.
        number: EntryNumber,
        /// Its number there.
        there: EntryNumber,
    },
    /// An entry does not follow from what the other place has filed meanwhile.
    #[error("entry {number} of `{tag}` cannot stand behind the entries that were filed there meanwhile: {obstacle}")]
    DoesNotFollow {
        /// The vehicle.
        tag: Tag,
        /// The number that it has here.
        number: EntryNumber,
        /// What is in the way.
        obstacle: Obstacle,
    },
    /// The journal cannot be read or written.
    #[error(transparent)]
    Journal(#[from] JournalError),
}

impl From<StoreError> for ShareError {
    fn from(error: StoreError) -> Self {
        Self::Journal(error.into())
    }
}

impl ShareError {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Rewritten { tag, .. } | Self::Gone(tag) => Some(format!(
                "find out who rewrote it and bring it back from a copy; `asfound audit {tag} --seal SEAL` tells which line a seal is of"
            )),
            Self::StartedApart(tag) => Some(format!(
                "two benches gave two cars, or one car twice, the tag `{tag}`; one of the garages has to use another"
            )),
            Self::Unreadable { .. } => Some(
                "the other journals are not affected; have that one looked at where it lies, with `git fsck`"
                    .to_owned(),
            ),
            Self::Unsound { .. } | Self::SaysOtherwise { .. } => {
                Some("nothing was taken over; have it audited where it lies".to_owned())
            }
            Self::DoesNotFollow { tag, .. } => Some(format!(
                "look at both, then `--set-aside {tag}` takes theirs, keeps yours legible beside it, and you file anew what still holds"
            )),
            Self::Journal(error) => error.hint(),
        }
    }

    /// A word for programs, which does not change.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Rewritten { .. } => "rewritten",
            Self::Gone(_) => "gone",
            Self::StartedApart(_) => "started-apart",
            Self::Unreadable { .. } => "unreadable",
            Self::Unsound { .. } => "unsound",
            Self::SaysOtherwise { .. } => "says-otherwise",
            Self::DoesNotFollow { .. } => "does-not-follow",
            Self::Journal(_) => "out-of-reach",
        }
    }
}
