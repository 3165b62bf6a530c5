//! `asfound/code-described/1`: what `describe code CODE` answers.

use serde::{Deserialize, Serialize};

use super::Answer;

/// What is known of a trouble code without any vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodeDescribed {
    /// The schema.
    pub schema: String,
    /// The code.
    pub code: String,
    /// System and issuer, with the area where there is one; nothing for another code system.
    pub structure: Option<String>,
    /// Its bytes in hexadecimal; nothing for another code system.
    pub bytes: Option<String>,
    /// The failure type in hexadecimal, where it has one.
    pub failure_type: Option<String>,
    /// What a loaded table says of it.
    pub description: Option<Description>,
}

/// What a loaded table says of a trouble code.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Description {
    /// The description.
    pub text: String,
    /// The table's name.
    pub table: String,
    /// The SHA-256 digest of its file.
    pub sha256: String,
}

impl Answer for CodeDescribed {
    const SCHEMA: &'static str = "asfound/code-described/1";
}
