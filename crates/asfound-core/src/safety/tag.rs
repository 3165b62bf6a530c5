//! Safety tags: which kind of system a setting belongs to.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::SafetyClass;

/// A word that is no safety tag.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("unknown safety tag `{0}`")]
pub struct UnknownSafetyTag(pub String);

/// The kind of system that a setting belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)] // each word says what it is
pub enum SafetyTag {
    Comfort,
    Display,
    Climate,
    Locking,
    Audible,
    Lighting,
    Visibility,
    DriverAssistance,
    Powertrain,
    Emissions,
    Steering,
    Braking,
    Restraint,
    Immobiliser,
    HighVoltage,
}

impl SafetyTag {
    /// Every tag, mildest class first.
    pub const ALL: [Self; 15] = [
        Self::Comfort,
        Self::Display,
        Self::Climate,
        Self::Locking,
        Self::Audible,
        Self::Lighting,
        Self::Visibility,
        Self::DriverAssistance,
        Self::Powertrain,
        Self::Emissions,
        Self::Steering,
        Self::Braking,
        Self::Restraint,
        Self::Immobiliser,
        Self::HighVoltage,
    ];

    /// The class of care that the tag asks for.
    pub fn class(self) -> SafetyClass {
        match self {
            Self::Comfort | Self::Display | Self::Climate | Self::Locking | Self::Audible => SafetyClass::Routine,
            Self::Lighting | Self::Visibility | Self::DriverAssistance => SafetyClass::Caution,
            Self::Powertrain
            | Self::Emissions
            | Self::Steering
            | Self::Braking
            | Self::Restraint
            | Self::Immobiliser
            | Self::HighVoltage => SafetyClass::Restricted,
        }
    }

    /// The tag as it is written in definitions.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Comfort => "comfort",
            Self::Display => "display",
            Self::Climate => "climate",
            Self::Locking => "locking",
            Self::Audible => "audible",
            Self::Lighting => "lighting",
            Self::Visibility => "visibility",
            Self::DriverAssistance => "driver-assistance",
            Self::Powertrain => "powertrain",
            Self::Emissions => "emissions",
            Self::Steering => "steering",
            Self::Braking => "braking",
            Self::Restraint => "restraint",
            Self::Immobiliser => "immobiliser",
            Self::HighVoltage => "high-voltage",
        }
    }
}

impl FromStr for SafetyTag {
    type Err = UnknownSafetyTag;
    fn from_str(text: &str) -> Result<Self, UnknownSafetyTag> {
        Self::ALL.into_iter().find(|tag| tag.as_str() == text).ok_or_else(|| UnknownSafetyTag(text.to_owned()))
    }
}

impl fmt::Display for SafetyTag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}
