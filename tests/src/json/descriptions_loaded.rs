//! `asfound/descriptions-loaded/1`: what `code-texts load FILE` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, DescriptionsTable};

/// A table of descriptions that was kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DescriptionsLoaded {
    /// The schema.
    pub schema: String,
    /// The table.
    pub table: DescriptionsTable,
}

impl Answer for DescriptionsLoaded {
    const SCHEMA: &'static str = "asfound/descriptions-loaded/1";
}
