//! `asfound/reading-filed/1`: what `read` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Author, Content, Moving, Origin, ReportedCode, StatusChanged, fields_rising, rising};

/// A reading that was filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingFiled {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The entry.
    pub entry: ReadingEntry,
    /// What differs from the last known state: settings by name, then undeclared bits.
    pub differences: Vec<Difference>,
    /// Parts of modules' identities that differ, by module.
    pub identities: Vec<IdentityChanged>,
    /// Since when another hand may have been there, in words: modules last read at the same entry together.
    pub another_hand_between: Vec<String>,
    /// Work that this reading proves: settings by name, then undeclared bits.
    pub read_back: Vec<ReadBack>,
    /// How many settings are known for the first time.
    pub first_known: usize,
    /// Records that are the same as before; nothing for a first reading.
    pub records_same: Option<usize>,
    /// Records that are not; nothing for a first reading.
    pub records_changed: Option<usize>,
    /// Records with bits that were left out, because they were seen to change without a write.
    pub left_out: Vec<LeftOut>,
    /// The trouble codes of every module that was scanned, by module.
    pub trouble_codes: Vec<ModuleCodes>,
    /// Modules that are known and were not scanned for trouble codes, by name.
    pub codes_not_examined: Vec<String>,
    /// What is to be looked at before anything that was altered.
    pub common_circumstance: Option<Circumstance>,
    /// What is worth saying of the exchange with the car, in words; nothing where the program did not read the car itself.
    pub exchange: Option<Vec<String>>,
    /// What earlier readings had and this one lacks, by module.
    pub not_read: Vec<NotRead>,
    /// What is worth saying, in words.
    pub remarks: Vec<String>,
}

/// The entry, with the reading's own head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingEntry {
    /// Its number.
    pub number: u32,
    /// Its kind: `reading`.
    pub kind: String,
    /// What it tells, in one line.
    pub headline: String,
    /// When it was filed (RFC 3339).
    pub recorded: String,
    /// When it was taken (RFC 3339).
    pub happened: String,
    /// How exactly that is known: `second`, `day`, `month` or `year`.
    pub precision: String,
    /// Who filed it.
    pub author: Author,
    /// Why.
    pub why: String,
    /// The reading.
    pub reading: ReadingHead,
}

/// The head of a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingHead {
    /// `as-found`, `as-left` or `check`.
    pub role: String,
    /// Whether it was said to cover less than earlier ones.
    pub partial: bool,
    /// The odometer, in kilometres.
    pub odometer_km: Option<u32>,
    /// The supply voltage, in volts, as decimal text.
    pub supply_voltage: Option<String>,
    /// With what it was taken.
    pub tool: Option<String>,
    /// Who took it, where the files say.
    pub by: Option<String>,
}

/// A field that differs from the last known state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    /// The field.
    pub field: String,
    /// The last known content.
    pub found: Option<Content>,
    /// What the reading shows.
    pub left: Content,
    /// Who accounts for it.
    pub origin: Origin,
}

/// The trouble codes of one module against its last scan before; each list in the order of its reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModuleCodes {
    /// The module.
    pub module: String,
    /// Whether it was scanned before; where it was not, all codes are new.
    pub scanned_before: bool,
    /// There before and now.
    pub there_before: Vec<ReportedCode>,
    /// Only now.
    pub new: Vec<ReportedCode>,
    /// Only before.
    pub gone: Vec<ReportedCode>,
    /// Of those that were there before: the ones with another status now.
    pub status_changed: Vec<StatusChanged>,
}

/// Signs that together point at one probable common circumstance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Circumstance {
    /// The supply voltage in volts as decimal text, where it was low.
    pub low_voltage: Option<String>,
    /// Modules that did not answer, by name.
    pub did_not_answer: Vec<String>,
    /// New communication codes, by module.
    pub communication: Vec<CommunicationCodes>,
}

/// New communication codes of one module.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CommunicationCodes {
    /// The module.
    pub module: String,
    /// The codes, in the order of the reading.
    pub codes: Vec<String>,
}

/// A part of a module's identity that differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdentityChanged {
    /// The module.
    pub module: String,
    /// `part number`, `hardware`, `software` or `serial`.
    pub what: String,
    /// As last known.
    pub found: String,
    /// As read.
    pub left: String,
    /// Why nobody can tell whether it is another one, as in sameness.md; nothing where it is another one.
    pub undecided: Option<String>,
}

/// Work that the reading proves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadBack {
    /// The field.
    pub field: String,
    /// The entry of the work.
    pub entry: u32,
}

/// What earlier readings had and this one lacks: a module, a record of it, or a setting of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NotRead {
    /// The module.
    pub module: String,
    /// The record, where it is one.
    pub record: Option<String>,
    /// The setting, where it is one.
    pub setting: Option<String>,
}

impl Answer for ReadingFiled {
    const SCHEMA: &'static str = "asfound/reading-filed/1";
    fn check(&self) {
        fields_rising("differences", &self.differences, |one| &one.field);
        fields_rising("fields read back", &self.read_back, |one| &one.field);
        rising("items not read", &self.not_read, |one| (one.module.clone(), one.setting.clone(), one.record.clone()));
        rising("scanned modules", &self.trouble_codes, |one| one.module.clone());
        assert!(self.identities.is_sorted_by_key(|one| &one.module), "{:?}", self.identities);
    }
}

/// A record with bits that were left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// The module.
    pub module: String,
    /// The record.
    pub record: String,
    /// The bits.
    pub moving: Moving,
}
