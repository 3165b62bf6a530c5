//! `asfound/comparison/1`: what `compare` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Content, Moving, ReportedCode, SeveralDefinitions, StatusChanged, rising};

/// Two states side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Comparison {
    /// The schema.
    pub schema: String,
    /// The left side: `entry 2`, or a vehicle's tag.
    pub found: String,
    /// The right side.
    pub left: String,
    /// Whether nothing differs among what both sides know.
    pub same: bool,
    /// The modules that either side knows, by name.
    pub modules: Vec<ModuleCompared>,
    /// Modules that several definitions fit on a side, by name.
    pub several_definitions: Vec<SeveralDefinitions>,
    /// Definitions that both entries carry with different text, by name.
    pub definitions_differ: Vec<String>,
}

/// One module, compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModuleCompared {
    /// The module.
    pub module: String,
    /// The definition that explains the left side.
    pub definition_found: Option<String>,
    /// The definition that explains the right side.
    pub definition_left: Option<String>,
    /// Parts of the identity that both sides know and that differ: part number, hardware, software, serial.
    pub identity: Vec<IdentityDifference>,
    /// Settings that both sides know and that differ, by name.
    pub settings: Vec<ComparedSetting>,
    /// Settings that both sides know and of which nobody can tell whether they differ, by name.
    pub settings_undecided: Vec<UndecidedSetting>,
    /// How many settings both sides know.
    pub settings_compared: usize,
    /// Settings that only one side knows, by name within the module.
    pub settings_not_read: Vec<String>,
    /// Its records, identifiers first.
    pub records: Vec<RecordCompared>,
    /// Its trouble codes; nothing unless both sides were scanned for them.
    pub trouble_codes: Option<CodesCompared>,
}

/// A part of an identity that differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdentityDifference {
    /// `part number`, `hardware`, `software` or `serial`.
    pub what: String,
    /// On the left.
    pub found: Option<String>,
    /// On the right.
    pub left: Option<String>,
    /// Why nobody can tell whether it is another one, as in sameness.md; nothing where it is another one.
    pub undecided: Option<String>,
}

/// A setting that differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ComparedSetting {
    /// Its full name.
    pub setting: String,
    /// On the left.
    pub found: Option<Content>,
    /// On the right.
    pub left: Option<Content>,
}

/// A setting of which nobody can tell whether it differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UndecidedSetting {
    /// Its full name.
    pub setting: String,
    /// On the left.
    pub found: Content,
    /// On the right.
    pub left: Content,
    /// Why it cannot be compared, as in sameness.md.
    pub why: String,
}

/// One record, compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordCompared {
    /// The record.
    pub record: String,
    /// `same`, `changed`, `not-read` or `refused`.
    pub verdict: String,
    /// How many bytes were compared.
    pub bytes_compared: usize,
    /// How many were left out because they change by themselves.
    pub bytes_volatile: usize,
    /// On the left, in hexadecimal.
    pub found: Option<String>,
    /// On the right.
    pub left: Option<String>,
    /// Bits that differ and that no definition names, in words; empty when there are none.
    pub undeclared_bits: String,
    /// Those of them of which nobody can tell whether they are a setting or a measured value, in words.
    pub unclear_bits: String,
    /// Bits that were left out because they were seen to change without a write.
    pub moving: Moving,
    /// Whether the sides are laid out by different definitions.
    pub layout_changed: bool,
}

/// The trouble codes of one module, each list in the order of its reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodesCompared {
    /// On both sides.
    pub there_before: Vec<ReportedCode>,
    /// Only on the right.
    pub new: Vec<ReportedCode>,
    /// Only on the left.
    pub gone: Vec<ReportedCode>,
    /// Of those on both sides: the ones with another status on the right.
    pub status_changed: Vec<StatusChanged>,
}

impl Answer for Comparison {
    const SCHEMA: &'static str = "asfound/comparison/1";
    fn check(&self) {
        rising("modules", &self.modules, |module| module.module.clone());
        rising("definitions", &self.definitions_differ, Clone::clone);
        for module in &self.modules {
            rising("settings", &module.settings, |setting| setting.setting.clone());
            rising("settings undecided", &module.settings_undecided, |setting| setting.setting.clone());
            rising("settings not read", &module.settings_not_read, Clone::clone);
            rising("records", &module.records, |record| record.record.clone());
        }
    }
}
