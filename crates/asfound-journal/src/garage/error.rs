//! What can go wrong with a garage.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

use super::settings::FORMAT;
use crate::FailureKind;
use crate::store::{StoreError, disk_hint};

/// What can go wrong with a garage.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum GarageError {
    /// There is nothing at the path.
    #[error("there is no garage at {}", path.display())]
    Missing {
        /// The path.
        path: PathBuf,
    },
    /// What lies at the path is something else.
    #[error("{} is not a garage: {why}", path.display())]
    NotAGarage {
        /// The path.
        path: PathBuf,
        /// By what this was seen.
        why: &'static str,
    },
    /// The garage was made by a later version of this program.
    #[error("{} has the format `{found}`, which is newer than this program reads (`{FORMAT}`)", path.display())]
    Newer {
        /// The settings file that says so.
        path: PathBuf,
        /// Its format.
        found: String,
    },
    /// The settings file cannot be understood.
    #[error("{}, line {line}, column {column}: {message}", path.display())]
    Settings {
        /// The settings file.
        path: PathBuf,
        /// The line, from 1.
        line: usize,
        /// The character in the line, from 1.
        column: usize,
        /// What is wrong there.
        message: String,
    },
    /// A garage was to be made where one is already.
    #[error("there is already a garage at {}", path.display())]
    Exists {
        /// The path.
        path: PathBuf,
    },
    /// A garage was to be made among other files.
    #[error("a garage cannot be made in {}: it holds `{found}`", path.display())]
    Occupied {
        /// The path.
        path: PathBuf,
        /// The first thing in it that belongs to no garage.
        found: String,
    },
    /// The operating system refused something.
    #[error("cannot {doing} {}: {source}", path.display())]
    Disk {
        /// What was being done, as in "cannot … the file".
        doing: &'static str,
        /// To which file or folder.
        path: PathBuf,
        /// What the operating system said.
        source: io::Error,
    },
    /// The journals could not be made or opened.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl GarageError {
    /// What sort of failure it is.
    pub fn kind(&self) -> FailureKind {
        match self {
            Self::Missing { .. } => FailureKind::NotFound,
            Self::NotAGarage { .. } | Self::Newer { .. } | Self::Settings { .. } => FailureKind::Input,
            Self::Exists { .. } | Self::Occupied { .. } => FailureKind::Conflict,
            Self::Disk { .. } => FailureKind::Io,
            Self::Store(error) => error.kind(),
        }
    }

    /// What to do about it, where there is something.
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            Self::Missing { .. } => "enrolling the first vehicle makes one: `asfound enrol TAG`",
            Self::NotAGarage { .. } => {
                "give the directory in which garage.toml lies, or one that is new or empty to make a garage there"
            }
            Self::Newer { .. } => "use the newer version of this program; this one would not understand what it reads",
            Self::Settings { .. } => "put that line right; the journals themselves are not affected",
            Self::Exists { .. } => "open it as it is, or choose another directory",
            Self::Occupied { .. } => "choose a directory that is new or empty",
            Self::Disk { source, .. } => return disk_hint(source).map(str::to_owned),
            Self::Store(error) => return error.hint(),
        };
        Some(hint.to_owned())
    }
}
