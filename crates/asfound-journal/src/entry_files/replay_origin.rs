//! What an entry says that was filed elsewhere at first, and stands here behind entries of another bench.

use asfound_core::names::EntryNumber;
use serde::{Deserialize, Serialize};
use time::OffsetDateTime;

use crate::store::CommitId;

/// Where an entry stood before: in a line of its own, which is kept beside the journal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReplayOrigin {
    /// Its number there.
    pub number: EntryNumber,
    /// Its commit there.
    pub commit: CommitId,
    /// When it was filed there.
    #[serde(with = "time::serde::rfc3339")]
    pub recorded: OffsetDateTime,
    /// Who brought the two together.
    pub by: String,
}
