//! `SETTING=VALUE` and `MODULE:RECORD=BYTES`.

use std::fmt;
use std::str::FromStr;

use asfound_core::names::{ModuleName, RecordName, SettingPath};

use super::one_line;

/// What is assigned to: a setting by name, or a whole record.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum AssignmentPlace {
    /// A setting, written `module.setting`.
    Setting(SettingPath),
    /// A record, written `module:record`.
    Record(ModuleName, RecordName),
}

impl FromStr for AssignmentPlace {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        match text.split_once(':') {
            Some((module, record)) => Ok(Self::Record(
                module.parse().map_err(|error| format!("{error}"))?,
                RecordName::written(record).map_err(|error| format!("{error}"))?,
            )),
            None => text.parse().map(Self::Setting).map_err(|error| format!("{error}")),
        }
    }
}

impl fmt::Display for AssignmentPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Setting(path) => path.fmt(f),
            Self::Record(module, record) => write!(f, "{module}:{record}"),
        }
    }
}

/// A place and what it should hold, as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assignment {
    /// The place.
    pub place: AssignmentPlace,
    /// The value or the bytes.
    pub text: String,
}

impl FromStr for Assignment {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (place, value) = text
            .split_once('=')
            .ok_or("write SETTING=VALUE, as in body.lane_change_flashes=5, or MODULE:RECORD=BYTES")?;
        let value = value.trim();
        if value.is_empty() {
            return Err(format!("there is no value after `{place}=`"));
        }
        Ok(Self { place: place.trim().parse()?, text: one_line(value)? })
    }
}

/// A value told as found: for one place by name, or for the only place there is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FoundValue {
    /// `SETTING=VALUE`.
    Named(Assignment),
    /// `VALUE` alone.
    Bare(String),
}

impl FromStr for FoundValue {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        if text.contains('=') {
            return text.parse().map(Self::Named);
        }
        one_line(text).map(Self::Bare)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_and_records_are_told_apart() {
        let setting: Assignment = "body.lane_change_flashes = 5".parse().unwrap();
        assert_eq!((setting.place.to_string().as_str(), setting.text.as_str()), ("body.lane_change_flashes", "5"));
        let record: Assignment = "body:0D01=03 0F".parse().unwrap();
        assert!(matches!(record.place, AssignmentPlace::Record(..)) && record.text == "03 0F");
        assert_eq!("body:0d01=03 0F".parse(), Ok(record), "identifiers in any letter case");
        for text in ["body", "body=5", "body.x", "body.x=", "body:0d0x=03", ".x=1", "radio.volume=3\u{1b}[0m"] {
            assert!(text.parse::<Assignment>().is_err(), "{text}");
        }
    }
}
