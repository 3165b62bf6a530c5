//! `asfound/key-stopped/1`: what `key stop` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// No key signs from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyStopped {
    /// The schema.
    pub schema: String,
    /// The fingerprint of the key that signed until now, where one did.
    pub was: Option<String>,
}

impl Answer for KeyStopped {
    const SCHEMA: &'static str = "asfound/key-stopped/1";
}
