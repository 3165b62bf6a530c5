//! A trouble code as a module reported it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{CodeFormat, CodeStatus, TroubleCode};
use crate::names::SettingName;
use crate::value::HexBytes;

/// What a module stored of the moment at which it stored a code.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FreezeFrame {
    /// The bytes, where the reading gives them. They are kept whether or not anybody can explain them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<HexBytes>,
    /// Values by name, as the reading gives them; they are text, and nothing is worked out from them.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub values: BTreeMap<SettingName, String>,
}

/// A trouble code as a module reported it, with what it told beside it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReportedCode {
    /// The code.
    pub code: TroubleCode,
    /// The status byte (ISO 14229-1), where the module gave one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub status: Option<CodeStatus>,
    /// The format identifier of the response that held the code, where the reading gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub format: Option<CodeFormat>,
    /// How often the module counted it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub occurrences: Option<u32>,
    /// The odometer that the module stored with it, in kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer_km: Option<u32>,
    /// What the module stored of the moment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freeze_frame: Option<FreezeFrame>,
}

impl ReportedCode {
    /// A code of which nothing but its status is known.
    pub fn new(code: TroubleCode, status: Option<CodeStatus>) -> Self {
        Self { code, status, format: None, occurrences: None, odometer_km: None, freeze_frame: None }
    }
}
