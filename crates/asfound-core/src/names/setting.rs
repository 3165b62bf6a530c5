//! The full name of a setting: module and setting.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::slug::{ModuleName, SettingName, SlugError};

/// Why the full name of a setting was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SettingPathError {
    /// There is no dot between module and setting.
    #[error("`{0}` names no setting: write the module, a dot and the setting, as in body.lane_change_flashes")]
    NoDot(String),
    /// One of the two names is not well formed.
    #[error(transparent)]
    Slug(#[from] SlugError),
}

/// A setting of a vehicle by its full name, such as `body.lane_change_flashes`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct SettingPath {
    /// The module that holds it.
    pub module: ModuleName,
    /// Its name within the module.
    pub setting: SettingName,
}

impl FromStr for SettingPath {
    type Err = SettingPathError;
    fn from_str(text: &str) -> Result<Self, SettingPathError> {
        let (module, setting) =
            text.split_once('.').ok_or_else(|| SettingPathError::NoDot(text.chars().take(64).collect()))?;
        Ok(Self { module: module.parse()?, setting: setting.parse()? })
    }
}

impl TryFrom<String> for SettingPath {
    type Error = SettingPathError;
    fn try_from(text: String) -> Result<Self, SettingPathError> {
        text.parse()
    }
}

impl From<SettingPath> for String {
    fn from(path: SettingPath) -> String {
        path.to_string()
    }
}

impl fmt::Display for SettingPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}.{}", self.module, self.setting))
    }
}
