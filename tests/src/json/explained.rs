//! `asfound/explained/1`: what `explain` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, rising};

/// What definitions know of a setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Explained {
    /// The schema.
    pub schema: String,
    /// What was asked for.
    pub words: String,
    /// What was found, by definition and setting.
    pub settings: Vec<ExplainedSetting>,
}

/// A setting as one definition has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExplainedSetting {
    /// Its full name.
    pub setting: String,
    /// Its label.
    pub label: String,
    /// A sentence or two on it.
    pub about: Option<String>,
    /// The definition.
    pub definition: String,
    /// The record that holds it.
    pub record: String,
    /// Its first byte, from 0.
    pub byte: usize,
    /// Its lowest bit in there.
    pub bit: u8,
    /// How many bits it has.
    pub bits: usize,
    /// What it may be, in words.
    pub may_be: String,
    /// The names of its values, where values have names, in the order of their codes.
    pub choices: Vec<String>,
    /// Its factory value, as people see it.
    pub factory: Option<String>,
    /// Its safety tags, in the order of the definition's list of tags.
    pub tags: Vec<String>,
    /// Its own class: `routine`, `caution` or `restricted`.
    pub class: String,
    /// The class of its record.
    pub record_class: String,
    /// Modules and settings on which it acts, in the order of the definition.
    pub affects: Vec<String>,
    /// Cautions, its own first.
    pub cautions: Vec<String>,
    /// Where the fact comes from.
    pub source: Option<String>,
    /// Rules that name it, in the order of the definitions.
    pub rules: Vec<RuleInWords>,
}

/// A rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RuleInWords {
    /// Its name.
    pub name: String,
    /// What it says.
    pub text: String,
}

impl Answer for Explained {
    const SCHEMA: &'static str = "asfound/explained/1";
    fn check(&self) {
        rising("settings", &self.settings, |one| (one.definition.clone(), one.setting.clone()));
    }
}
