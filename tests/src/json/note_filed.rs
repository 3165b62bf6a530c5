//! `asfound/note-filed/1`: what `note` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, EntryHead};

/// A note that was filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoteFiled {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The entry.
    pub entry: EntryHead,
}

impl Answer for NoteFiled {
    const SCHEMA: &'static str = "asfound/note-filed/1";
}
