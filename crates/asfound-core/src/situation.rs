//! The situation in which a reading was taken, as far as it says so.

use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::names::ModuleName;

/// A word that is no state of engine or ignition.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{what}, not `{said}`")]
pub struct UnknownSituation {
    what: &'static str,
    said: String,
}

/// Whether the engine ran.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Engine {
    /// It ran.
    Running,
    /// It did not.
    Stopped,
}

impl FromStr for Engine {
    type Err = UnknownSituation;
    fn from_str(text: &str) -> Result<Self, UnknownSituation> {
        match text {
            "running" => Ok(Self::Running),
            "stopped" => Ok(Self::Stopped),
            _ => Err(unknown("an engine is `running` or `stopped`", text)),
        }
    }
}

impl fmt::Display for Engine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Running => "running",
            Self::Stopped => "stopped",
        })
    }
}

/// Whether the ignition was on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ignition {
    /// It was on.
    On,
    /// It was off.
    Off,
}

impl FromStr for Ignition {
    type Err = UnknownSituation;
    fn from_str(text: &str) -> Result<Self, UnknownSituation> {
        match text {
            "on" => Ok(Self::On),
            "off" => Ok(Self::Off),
            _ => Err(unknown("the ignition is `on` or `off`", text)),
        }
    }
}

impl fmt::Display for Ignition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::On => "on",
            Self::Off => "off",
        })
    }
}

fn unknown(what: &'static str, said: &str) -> UnknownSituation {
    UnknownSituation { what, said: said.chars().take(24).collect() }
}

/// The situation in which a reading was taken; what is absent was not told.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Situation {
    /// The engine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub engine: Option<Engine>,
    /// The ignition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ignition: Option<Ignition>,
    /// Modules that were asked and gave no answer at all.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub did_not_answer: BTreeSet<ModuleName>,
}

impl Situation {
    /// Whether nothing was told.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
