//! `asfound/tidied/1`: what `pack` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// A garage whose journals were packed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tidied {
    /// The schema.
    pub schema: String,
    /// The garage.
    pub garage: String,
    /// How many loose objects lie in packs now.
    pub objects: usize,
    /// How many references lie in the packed list now.
    pub references: usize,
    /// How many packs went into larger ones.
    pub packs_put_together: usize,
    /// How many loose objects were left as they are because they are damaged.
    pub damaged: usize,
    /// The bytes that the journals took.
    pub bytes_before: u64,
    /// The bytes that they take.
    pub bytes_after: u64,
}

impl Answer for Tidied {
    const SCHEMA: &'static str = "asfound/tidied/1";
}
