//! A commit that is to be appended.

use std::collections::{BTreeMap, HashSet};

use thiserror::Error;
use time::{OffsetDateTime, UtcOffset};

use super::{Author, BlobId, CommitId, TreeId};
use crate::FilePath;

/// The largest offset from UTC that git takes for a time zone, in minutes.
const LARGEST_OFFSET: i16 = 14 * 60;

/// What a file of a new commit holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FileContent {
    /// The contents of a file of the commit before, which are not written again.
    Kept(BlobId),
    /// New contents.
    New(Vec<u8>),
}

/// All files of a new commit by path. A file that is not listed is not in the commit.
pub type Files = BTreeMap<FilePath, FileContent>;

/// A commit that is to be appended to a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewCommit {
    /// Who makes it.
    pub author: Author,
    /// When. Kept to the second, with the offset to the minute.
    pub when: OffsetDateTime,
    /// Why, and what: stored to the letter.
    pub message: String,
    /// Every file of the commit.
    pub files: Files,
}

/// Why a commit cannot be stored as it is.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum UnfitCommit {
    /// The message says nothing.
    #[error("the message is blank")]
    BlankMessage,
    /// The message holds a NUL character, at which readers would cut it.
    #[error("the message holds a NUL character")]
    NulInMessage,
    /// The date is before 1970 or after February 2106: the git library would write another.
    #[error("the date {0} is outside the years 1970 to 2106, which a commit can hold")]
    Date(OffsetDateTime),
    /// The offset is none that a time zone has.
    #[error("the offset {0} from UTC is larger than that of any time zone")]
    Offset(UtcOffset),
    /// There is no file.
    #[error("the commit has no files")]
    NoFiles,
    /// One path is a file and also the folder of another.
    #[error("`{file}` is a file, and `{below}` would lie below it")]
    Clash {
        /// The file.
        file: FilePath,
        /// The path below it.
        below: FilePath,
    },
    /// A blob that is to be kept is not among the files of the commit before.
    #[error("the contents {blob} for `{path}` cannot be kept: no file of the commit before has them")]
    NotKept {
        /// The path.
        path: FilePath,
        /// The blob.
        blob: BlobId,
    },
}

impl NewCommit {
    /// The time as a store keeps it: whole seconds, the offset in whole minutes.
    pub(super) fn stored_time(&self) -> OffsetDateTime {
        let offset = UtcOffset::from_whole_seconds(i32::from(self.when.offset().whole_minutes()) * 60)
            .expect("an offset cut to whole minutes is no larger than it was");
        // Only at the ends of the calendar is there no such date, and `check` refuses those.
        self.when.checked_to_offset(offset).unwrap_or(self.when).truncate_to_second()
    }

    /// The text of the commit in git's form, which is what is hashed, and what a signature is made over.
    pub(super) fn text(&self, tree: &TreeId, parent: Option<&CommitId>) -> Vec<u8> {
        let parent = parent.map(|id| format!("parent {id}\n")).unwrap_or_default();
        let when = self.stored_time();
        let minutes = when.offset().whole_minutes();
        let (sign, hours, rest) = (if minutes < 0 { '-' } else { '+' }, minutes.abs() / 60, minutes.abs() % 60);
        let who = format!("{} {} {sign}{hours:02}{rest:02}", self.author, when.unix_timestamp());
        format!("tree {tree}\n{parent}author {who}\ncommitter {who}\n\n{}", self.message).into_bytes()
    }

    /// What can be checked without the commit before.
    pub(super) fn check(&self) -> Result<(), UnfitCommit> {
        if self.message.trim().is_empty() {
            return Err(UnfitCommit::BlankMessage);
        }
        if self.message.contains('\0') {
            return Err(UnfitCommit::NulInMessage);
        }
        // The library writes the date as 32 bits.
        if u32::try_from(self.when.unix_timestamp()).is_err() {
            return Err(UnfitCommit::Date(self.when));
        }
        if self.when.offset().whole_minutes().abs() > LARGEST_OFFSET {
            return Err(UnfitCommit::Offset(self.when.offset()));
        }
        if self.files.is_empty() {
            return Err(UnfitCommit::NoFiles);
        }
        for path in self.files.keys() {
            for (end, _) in path.as_str().match_indices('/') {
                if let Some((file, _)) = self.files.get_key_value(&path.as_str()[..end]) {
                    return Err(UnfitCommit::Clash { file: file.clone(), below: path.clone() });
                }
            }
        }
        Ok(())
    }

    /// That everything kept was in the commit before, whose listing is given where there is one.
    pub(super) fn check_kept(&self, before: Option<&BTreeMap<String, BlobId>>) -> Result<(), UnfitCommit> {
        let before: HashSet<&BlobId> = before.into_iter().flat_map(BTreeMap::values).collect();
        for (path, content) in &self.files {
            if let FileContent::Kept(blob) = content
                && !before.contains(blob)
            {
                return Err(UnfitCommit::NotKept { path: path.clone(), blob: blob.clone() });
            }
        }
        Ok(())
    }
}
