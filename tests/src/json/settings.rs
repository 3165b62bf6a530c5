//! `asfound/settings/1`: what `settings` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Content, Proof, Trial, rising};

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
    /// Records that are kept as bytes and that no definition explains, by module and record.
    pub records_unexplained: Vec<UnexplainedRecord>,
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
}

impl Answer for Settings {
    const SCHEMA: &'static str = "asfound/settings/1";
    fn check(&self) {
        rising("settings", &self.settings, |line| line.setting.clone());
        rising("unexplained records", &self.records_unexplained, |one| (one.module.clone(), one.record.clone()));
    }
}
