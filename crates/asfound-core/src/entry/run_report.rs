//! What became of the steps of a plan that was walked one by one.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::names::{ModuleName, RecordName, SettingName, SettingPath};

/// A text that is no plan's id.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid plan id `{0}` (expected 16 lower-case hexadecimal digits)")]
pub struct PlanIdError(String);

/// Tells one saved plan from all others: 16 lower-case hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PlanId(String);

impl PlanId {
    /// The id that begins a digest.
    pub fn of_digest(first: [u8; 8]) -> Self {
        Self(format!("{:016x}", u64::from_be_bytes(first)))
    }

    /// The id as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for PlanId {
    type Err = PlanIdError;
    fn from_str(text: &str) -> Result<Self, PlanIdError> {
        let digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
        if text.len() == 16 && text.bytes().all(digit) {
            Ok(Self(text.to_owned()))
        } else {
            Err(PlanIdError(text.chars().take(24).collect()))
        }
    }
}

impl TryFrom<String> for PlanId {
    type Error = PlanIdError;
    fn try_from(text: String) -> Result<Self, PlanIdError> {
        text.parse()
    }
}

impl From<PlanId> for String {
    fn from(id: PlanId) -> String {
        id.0
    }
}

impl fmt::Display for PlanId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// What became of one step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StepOutcome {
    /// It was written, and reading it back gave what was wanted.
    ReadBackAsWanted,
    /// It was written; it was not read back.
    Made,
    /// It was to be written, and reading it back gave something else.
    ReadBackOtherwise,
    /// It was to be written, and nobody knows whether it was.
    InDoubt,
    /// It was not written.
    NotMade,
}

impl StepOutcome {
    /// Whether the step is known to be made.
    pub fn is_made(self) -> bool {
        matches!(self, Self::ReadBackAsWanted | Self::Made)
    }

    /// Whether the record has to be read before anything else is done about the step.
    pub fn is_doubtful(self) -> bool {
        matches!(self, Self::InDoubt | Self::ReadBackOtherwise)
    }
}

impl fmt::Display for StepOutcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::ReadBackAsWanted => "made, read back as wanted",
            Self::Made => "made, not read back",
            Self::ReadBackOtherwise => "read back otherwise",
            Self::InDoubt => "in doubt",
            Self::NotMade => "not made",
        })
    }
}

/// Where a step writes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepPlace {
    /// A record of a module.
    Record(ModuleName, RecordName),
    /// A setting, by name.
    Setting(SettingPath),
}

impl StepPlace {
    /// The module that it is in.
    pub fn module(&self) -> &ModuleName {
        match self {
            Self::Record(module, _) => module,
            Self::Setting(path) => &path.module,
        }
    }
}

impl fmt::Display for StepPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Record(module, record) => f.pad(&format!("{module}:{record}")),
            Self::Setting(path) => path.fmt(f),
        }
    }
}

/// One step of a plan that was walked. What was read stands here as it was said; only a reading proves anything.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepReport {
    /// The module.
    pub module: ModuleName,
    /// The record, where a record was to be written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<RecordName>,
    /// The setting, where it was to be set by name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setting: Option<SettingName>,
    /// What became of it.
    pub outcome: StepOutcome,
    /// What was read before the write: bytes in hexadecimal, or a value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// What was to be written, once it was asked to be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub write: Option<String>,
    /// What the module answered in place of accepting the write.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// What was read last after the write.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_back: Option<String>,
}

impl StepReport {
    /// Where it wrote; nothing where it names neither one record nor one setting.
    pub fn place(&self) -> Option<StepPlace> {
        let module = self.module.clone();
        match (&self.record, &self.setting) {
            (Some(record), None) => Some(StepPlace::Record(module, record.clone())),
            (None, Some(setting)) => Some(StepPlace::Setting(SettingPath { module, setting: setting.clone() })),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_have_one_spelling() {
        assert_eq!("00112233aabbccdd".parse::<PlanId>().unwrap().to_string(), "00112233aabbccdd");
        for text in ["", "00112233AABBCCDD", "00112233aabbccd", "00112233aabbccddd", "../../etc/passwd0"] {
            assert!(text.parse::<PlanId>().is_err(), "{text:?}");
        }
    }
}
