//! `asfound/correction-filed/1`: what `correct` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, EntryHead, fields_rising};

/// A correction that was filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CorrectionFiled {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The entry.
    pub entry: EntryHead,
    /// The entry that is corrected.
    pub corrects: Option<u32>,
    /// Whether the work in it was never made.
    pub never_made: bool,
    /// The words of the entry before and now, where they are corrected.
    pub words: Option<CorrectedWords>,
    /// What became different, by field: settings by name, then undeclared bits.
    pub settings: Vec<CorrectedField>,
}

/// The reason or the note of the corrected entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CorrectedWords {
    /// What the entry said.
    pub said: String,
    /// What it should have said.
    pub is: String,
}

/// A field of the corrected entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CorrectedField {
    /// The field.
    pub field: String,
    /// What the entry said, as in `3 -> 5`.
    pub said: Option<String>,
    /// What the journal takes it to be now.
    pub is: String,
}

impl Answer for CorrectionFiled {
    const SCHEMA: &'static str = "asfound/correction-filed/1";
    fn check(&self) {
        fields_rising("settings", &self.settings, |one| &one.field);
    }
}
