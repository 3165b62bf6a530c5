//! `asfound/key-used/1`: what `key use` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// The key that signs from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyUsed {
    /// The schema.
    pub schema: String,
    /// Its fingerprint.
    pub key: String,
    /// Its kind, as in `Ed25519`.
    pub kind: String,
    /// The file of its private half; nothing where an ssh-agent holds it.
    pub file: Option<String>,
    /// Whose entries alone it signs, name and e-mail address; nothing where it signs everybody's.
    pub author: Option<String>,
    /// The names by which it is trusted, separated by commas.
    pub principals: String,
    /// The list of trusted keys.
    pub list: String,
    /// The fingerprint of another key that signed until now.
    pub replaced: Option<String>,
}

impl Answer for KeyUsed {
    const SCHEMA: &'static str = "asfound/key-used/1";
}
