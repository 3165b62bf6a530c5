//! What an entry says has become different in the vehicle.

use serde::{Deserialize, Serialize};

use crate::identity::Identity;
use crate::names::{ModuleName, RecordName, SettingName};
use crate::value::HexBytes;

/// A record whose content became known or different.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordEffect {
    /// The module.
    pub module: ModuleName,
    /// The record.
    pub record: RecordName,
    /// The content as found; nothing when it was not known before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<HexBytes>,
    /// The content as left.
    pub left: HexBytes,
}

/// A setting known by value alone whose value became known or different.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StatedEffect {
    /// The module.
    pub module: ModuleName,
    /// The setting.
    pub setting: SettingName,
    /// The value as found; nothing when it was not known before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// The value as left; nothing when the bytes of a record tell it from now on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<String>,
}

/// A module whose identity became known or different.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdentityEffect {
    /// The module.
    pub module: ModuleName,
    /// The identity as found; empty when nothing was known.
    #[serde(default)]
    pub found: Identity,
    /// The identity as left.
    pub left: Identity,
}

/// Everything that one entry says has become different.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Effects {
    /// Modules whose identity differs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub identities: Vec<IdentityEffect>,
    /// Records whose content differs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub records: Vec<RecordEffect>,
    /// Settings known by value alone whose value differs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stated: Vec<StatedEffect>,
}

impl Effects {
    /// Whether nothing became different.
    pub fn is_empty(&self) -> bool {
        self.identities.is_empty() && self.records.is_empty() && self.stated.is_empty()
    }
}
