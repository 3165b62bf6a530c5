//! `asfound/settings/1`: what `settings` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Content, OpenStep, Proof, Trial, rising};

/// Every setting as last known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The entry after which they are so; nothing where a time was asked for.
    pub after_entry: Option<u32>,
    /// The time that was asked for, as exactly as it was told.
    pub as_of: Option<String>,
    /// The settings, by full name.
    pub settings: Vec<SettingLine>,
    /// The open steps, by module and record.
    pub in_doubt: Vec<OpenStep>,
    /// Records that are kept as bytes and that no definition explains, by module and record.
    pub records_unexplained: Vec<UnexplainedRecord>,
    /// Modules that several definitions fit, by name.
    pub several_definitions: Vec<SeveralDefinitions>,
}

/// One setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingLine {
    /// Its full name.
    pub setting: String,
    /// Its label, where a definition gives one.
    pub label: Option<String>,
    /// What it holds.
    pub content: Content,
    /// Its factory value, as people see it, where a definition gives one.
    pub factory: Option<String>,
    /// How that is known.
    pub standing: Option<Standing>,
    /// How the trial of the work that brought it stands; nothing where no recorded work did.
    pub trial: Option<Trial>,
    /// When a reading last covered it (RFC 3339).
    pub last_read: Option<String>,
    /// The entry that left it in doubt, where no reading has answered since.
    pub in_doubt: Option<u32>,
}

/// How a content is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[serde(tag = "known", rename_all = "kebab-case")]
pub enum Standing {
    /// A reading shows it, and no recorded work brought it about.
    Read {
        /// The entry that brought it.
        since: u32,
        /// The last reading that shows it.
        last_read: u32,
    },
    /// Recorded work brought it about.
    Altered {
        /// The entry of the work.
        by: u32,
        /// How well that is proven.
        proof: Proof,
    },
    /// A reading shows it, and no entry accounts for it.
    AnotherHand {
        /// The reading that showed it first.
        seen: u32,
    },
    /// A reading shows it where recorded work should have left something else.
    Contradiction {
        /// The entry of the work.
        of: u32,
        /// The reading.
        seen: u32,
    },
}

/// A record that no definition explains.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnexplainedRecord {
    /// The module.
    pub module: String,
    /// The record.
    pub record: String,
    /// Its bytes.
    pub bytes: String,
}

/// A module that several definitions fit, so that none of them explains it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeveralDefinitions {
    /// The module.
    pub module: String,
    /// The definitions, by name.
    pub definitions: Vec<String>,
}

impl Answer for Settings {
    const SCHEMA: &'static str = "asfound/settings/1";
    fn check(&self) {
        rising("settings", &self.settings, |line| line.setting.clone());
        rising("unexplained records", &self.records_unexplained, |one| (one.module.clone(), one.record.clone()));
    }
}
