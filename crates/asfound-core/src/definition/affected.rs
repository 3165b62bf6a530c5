//! What a setting acts on beyond its own module.

use std::fmt;
use std::str::FromStr;

use crate::names::{ModuleName, SettingPath, SettingPathError, SlugError};

/// A module or a setting that another setting acts on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Affected {
    /// A module as a whole, written by its name: `cluster`.
    Module(ModuleName),
    /// One setting, written with its module: `cluster.lock_chime`.
    Setting(SettingPath),
}

impl FromStr for Affected {
    type Err = SettingPathError;
    fn from_str(text: &str) -> Result<Self, SettingPathError> {
        if text.contains('.') {
            text.parse().map(Self::Setting)
        } else {
            text.parse().map(Self::Module).map_err(|error: SlugError| error.into())
        }
    }
}

impl fmt::Display for Affected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Module(module) => module.fmt(f),
            Self::Setting(setting) => setting.fmt(f),
        }
    }
}
