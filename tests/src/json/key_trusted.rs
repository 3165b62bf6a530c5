//! `asfound/key-trusted/1`: what `key trust` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, TrustedKey};

/// A key that is trusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyTrusted {
    /// The schema.
    pub schema: String,
    /// The key.
    pub key: TrustedKey,
    /// The list that it stands in.
    pub list: String,
}

impl Answer for KeyTrusted {
    const SCHEMA: &'static str = "asfound/key-trusted/1";
}
