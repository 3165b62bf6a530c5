//! What an entry says has become different, as it stands in `entry.toml`. Keys without content are absent.

use serde::{Deserialize, Serialize};

/// Everything that one entry says has become different.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Effects {
    /// Modules whose identity differs, by module.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub identities: Vec<IdentityEffect>,
    /// Records whose content differs, by module and record.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub records: Vec<RecordEffect>,
    /// Settings known by value alone whose value differs, by module and setting.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stated: Vec<StatedEffect>,
}

/// A module's identity; what nobody knows is absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Identity {
    /// The part number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_number: Option<String>,
    /// The hardware version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hardware: Option<String>,
    /// The software version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub software: Option<String>,
    /// The serial.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
}

/// A module whose identity became known or different.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdentityEffect {
    /// The module.
    pub module: String,
    /// As found.
    pub found: Identity,
    /// As left.
    pub left: Identity,
}

/// A record whose content became known or different.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordEffect {
    /// The module.
    pub module: String,
    /// The record.
    pub record: String,
    /// As found, in hexadecimal; absent where it was not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// As left, in hexadecimal.
    pub left: String,
}

/// A setting known by value alone whose value became known or different.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StatedEffect {
    /// The module.
    pub module: String,
    /// The setting.
    pub setting: String,
    /// As found; absent where it was not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// As left; absent where bytes tell it from now on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<String>,
}
