//! What can go wrong with a store.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use asfound_core::names::Tag;
use thiserror::Error;

use super::{CommitId, UnfitCommit};
use crate::FailureKind;
use crate::garage_file::UnfitFile;
use crate::sign::SignError;

/// Who keeps a journal from being written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Holder {
    /// A process that appends through this crate.
    Process {
        /// Its number.
        pid: u32,
        /// The name of its machine.
        host: String,
    },
    /// One that appends through this crate, but has not said who it is.
    Unknown,
    /// Another program, which has made this lock file.
    LockFile(PathBuf),
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Process { pid, host } => write!(f, "process {pid} on {host}"),
            Self::Unknown => f.write_str("another process"),
            Self::LockFile(path) => write!(f, "another program, by {}", path.display()),
        }
    }
}

/// What can go wrong with a store.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The journal's tip is another one than the commit was made for.
    #[error("the journal of `{tag}` has moved on: its tip was to be {} and is {}", shown(expected.as_ref()), shown(found.as_ref()))]
    Moved {
        /// The vehicle.
        tag: Tag,
        /// The tip that the commit was made for.
        expected: Option<CommitId>,
        /// The tip that was found.
        found: Option<CommitId>,
    },
    /// Somebody else is writing, and has not finished within the time limit.
    #[error("{what} is being written by {holder}; gave up after {:.1} s", waited.as_secs_f64())]
    Busy {
        /// What is being written: a journal, or the garage itself.
        what: String,
        /// Who is writing.
        holder: Holder,
        /// For how long this program waited.
        waited: Duration,
    },
    /// The commit cannot be stored as it is.
    #[error("an entry for `{tag}` cannot be stored: {source}")]
    Unfit {
        /// The vehicle.
        tag: Tag,
        /// What is wrong with it.
        source: UnfitCommit,
    },
    /// The commit was to be signed, and could not be.
    #[error("an entry for `{tag}` cannot be signed: {source}")]
    Unsigned {
        /// The vehicle.
        tag: Tag,
        /// Why not.
        source: SignError,
    },
    /// A commit has no such file.
    #[error("commit {commit} has no file `{path}`")]
    NoSuchFile {
        /// The commit.
        commit: CommitId,
        /// The path.
        path: String,
    },
    /// Something that ought to be there is not.
    #[error("{object} is missing")]
    Missing {
        /// What it is: its kind, and its id or name.
        object: String,
    },
    /// Something cannot be what was written.
    #[error("{object} is damaged: {detail}")]
    Damaged {
        /// What it is: its kind, and its id or name.
        object: String,
        /// What is wrong with it.
        detail: String,
    },
    /// A tree is whole, and not as the trees of entries are.
    #[error("{object} is not the tree of an entry: {detail}")]
    OddTree {
        /// Its kind and id.
        object: String,
        /// What is odd about it.
        detail: String,
    },
    /// Everything was written, but the journal does not show it.
    #[error("the entry {commit} was written, but the journal of `{tag}` ends with {}: it is not filed", shown(found.as_ref()))]
    NotFiled {
        /// The vehicle.
        tag: Tag,
        /// The commit that was written.
        commit: CommitId,
        /// The tip that was found.
        found: Option<CommitId>,
    },
    /// It belongs to another account, and is only read.
    #[error("{} belongs to another account (number {owner}): it is read, and nothing is written to it", path.display())]
    Foreign {
        /// The folder.
        path: PathBuf,
        /// The number of the account.
        owner: u32,
    },
    /// The journal no longer holds what was filed last.
    #[error("the journal of `{tag}` was further: {filed} was filed here, and it does not hold that now")]
    WasFurther {
        /// The vehicle.
        tag: Tag,
        /// The last commit that was filed.
        filed: CommitId,
        /// Where that is remembered.
        file: PathBuf,
        /// The repository, where it still has that commit and the journal only needs to end with it again.
        repository: Option<PathBuf>,
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
    /// The git library refused something.
    #[error("cannot {doing}: {detail}")]
    Git {
        /// What was being done, as in "cannot … the tree".
        doing: String,
        /// What the library said.
        detail: String,
    },
}

fn shown(tip: Option<&CommitId>) -> &str {
    tip.map_or("none", CommitId::as_str)
}

impl StoreError {
    /// What sort of failure it is.
    pub fn kind(&self) -> FailureKind {
        match self {
            Self::Moved { .. } | Self::Foreign { .. } | Self::WasFurther { .. } => FailureKind::Conflict,
            Self::Busy { .. } => FailureKind::Busy,
            Self::Unfit { .. } | Self::Unsigned { .. } => FailureKind::Input,
            Self::NoSuchFile { .. } => FailureKind::NotFound,
            Self::Missing { .. } | Self::Damaged { .. } | Self::OddTree { .. } | Self::NotFiled { .. } => {
                FailureKind::Damaged
            }
            Self::Disk { .. } | Self::Git { .. } => FailureKind::Io,
        }
    }

    /// What to do about it, where there is something.
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            Self::Moved { .. } => "somebody else filed an entry meanwhile; look at it, then file yours again",
            Self::Busy { holder: Holder::LockFile(path), .. } => {
                return Some(format!(
                    "wait until the other program is done; if none is running, remove {}",
                    path.display()
                ));
            }
            Self::Busy { .. } => "wait until it is done, then try again; nothing was filed",
            Self::Unfit { .. } => return None,
            Self::Unsigned { source, .. } => return Some(source.hint()),
            Self::NoSuchFile { .. } => "the listing of the commit says which files it has",
            Self::Missing { .. } | Self::Damaged { .. } => {
                "stop writing to this garage and bring journals.git back from a copy; `git fsck` in it lists all damage"
            }
            Self::OddTree { .. } => {
                "another program has written to the journal; `asfound audit` tells which entry it is"
            }
            Self::NotFiled { .. } => {
                "another program has rewritten the journal; keep a copy of the garage before going on"
            }
            Self::WasFurther { tag, filed, file, repository } => {
                let back = match repository {
                    Some(repository) => {
                        format!(
                            "`git --git-dir {} update-ref refs/heads/{tag} {filed}` brings it back",
                            repository.display()
                        )
                    }
                    None => "share with a place that has it, or bring journals.git back from a later copy".to_owned(),
                };
                return Some(format!("{back}; where it is lost for good, remove {}", file.display()));
            }
            Self::Foreign { .. } => {
                "share its journals with a garage of your own, or have it given to your account where it is yours"
            }
            Self::Disk { doing: LOCK, source, .. } if disk_hint(source).is_none() => {
                "this file system does not let files be locked, as some network drives do not: keep the garage on a disk of this \
                 machine, and share it"
            }
            Self::Disk { source, .. } => return disk_hint(source).map(str::to_owned),
            Self::Git { .. } => "check that the disk has room and that journals.git may be written by you",
        };
        Some(hint.to_owned())
    }
}

/// What is being done when a journal is locked.
pub(crate) const LOCK: &str = "lock";

/// What to do when the operating system refuses.
pub(crate) fn disk_hint(error: &io::Error) -> Option<&'static str> {
    if error.get_ref().is_some_and(|error| error.is::<UnfitFile>()) {
        return Some(
            "nothing was written; no garage made by this program has that in it, so find out where it comes from",
        );
    }
    match error.kind() {
        io::ErrorKind::PermissionDenied => Some("check who owns the garage and may write to it"),
        io::ErrorKind::ReadOnlyFilesystem => {
            Some("the file system is mounted read-only: journals there can be read, not written")
        }
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Some("make room on the disk, then try again"),
        _ => None,
    }
}

/// Makes the error of a file or folder that the disk refused.
pub(super) fn disk(doing: &'static str, path: &Path) -> impl Fn(io::Error) -> StoreError + use<> {
    let path = path.to_owned();
    move |source| StoreError::Disk { doing, path: path.clone(), source }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_of_the_system_says_what_to_do() {
        let hint = |kind: io::ErrorKind| {
            let path = PathBuf::from("locks/wren");
            let error = StoreError::Disk { doing: "open the lock", path, source: kind.into() };
            assert_eq!(error.kind(), FailureKind::Io);
            assert!(error.to_string().starts_with("cannot open the lock locks/wren: "), "{error}");
            error.hint().unwrap_or_default()
        };
        assert!(hint(io::ErrorKind::PermissionDenied).contains("who owns"));
        assert!(hint(io::ErrorKind::ReadOnlyFilesystem).contains("read-only"));
        assert!(hint(io::ErrorKind::StorageFull).contains("room"));
    }
}
