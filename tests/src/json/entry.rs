//! `asfound/entry/1`: what `entry` answers.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{
    Acknowledgement, Answer, Author, Content, CorrectedField, Effects, IdentityChanged, OnTheWire, Origin, Proof,
    ReportedCode, Signature, fields_rising, rising,
};

/// One entry in full.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// Its head.
    pub entry: EntryInFull,
    /// The commit that holds it.
    pub commit: String,
    /// What it altered, or found altered: settings by name, then undeclared bits.
    pub alterations: Vec<Alteration>,
    /// What the entry said when it was filed, of fields of which the journal says otherwise now; in the same order.
    pub as_filed: Vec<AsFiled>,
    /// What the entry corrects, where it is a correction, in the same order.
    pub corrects: Vec<CorrectedField>,
    /// Parts of modules' identities that are not what they were, where it is a reading; by module.
    pub identities: Vec<IdentityChanged>,
    /// What the entry holds of that in records and values; nothing for an enrolment or a note.
    pub effects: Option<Effects>,
    /// The reading, where it is one.
    pub reading: Option<ReadingInFull>,
    /// What bus logs showed, where it is their witness.
    pub witness: Option<WitnessInFull>,
    /// The acknowledgements of restricted systems, as they were given; nothing where it is no work.
    pub acknowledgements: Option<Vec<Acknowledgement>>,
    /// The id of the saved plan that was carried out, or a part of it.
    pub plan: Option<String>,
    /// Which walk of that plan it was.
    pub run: Option<u32>,
    /// What became of each of its steps, in order; empty where it was not walked, nothing where it is no work.
    pub steps: Option<Vec<StepDone>>,
    /// How many settings became known with it.
    pub first_known: usize,
    /// The attached files, by name.
    pub evidence: Vec<Attached>,
}

/// What bus logs showed, as it is filed. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WitnessInFull {
    /// By how many milliseconds the journal's times are later than the logs'.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub journal_later_ms: Option<i64>,
    /// By how many milliseconds the logs' times were put later.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub put_later_ms: Option<i64>,
    /// The entries that were made of the logs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub filed: Vec<u32>,
    /// The logs.
    pub logs: Vec<FiledLog>,
    /// Where each module speaks.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub modules: BTreeMap<String, Vec<BusPlace>>,
    /// The writes, in their order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub writes: Vec<WireWrite>,
    /// What else was done, in its order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub actions: Vec<WireAction>,
}

/// One log. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FiledLog {
    /// The name of its file.
    pub name: String,
    /// The SHA-256 of its file, in lower-case hexadecimal.
    pub sha256: String,
    /// Its size.
    pub bytes: u64,
    /// The first moment in it by its own clock (RFC 3339).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<String>,
    /// The last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last: Option<String>,
}

/// Where a module speaks. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BusPlace {
    /// Where it is asked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asked: Vec<String>,
    /// Where it answers.
    pub answers: String,
}

/// A write on the bus, as it is filed. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireWrite {
    /// The module.
    pub module: String,
    /// The record.
    pub record: String,
    /// When (RFC 3339).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// What was read before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// What was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub written: Option<String>,
    /// `accepted`, `refused` or `none`.
    pub answer: String,
    /// The negative response code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refusal: Option<String>,
    /// What was read again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_back: Option<String>,
    /// The work that recorded it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<u32>,
    /// The reading in which it shows, where no entry recorded it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown_by: Option<u32>,
    /// Who asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tester: Option<String>,
    /// Said to be the work of whoever filed the log, though no change of it could be filed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub own: bool,
    /// What in the log was mended: `part-missing`, `request-missing`, `out-of-order`, `across-logs`, `doubled`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mended: Vec<String>,
    /// What of the request is in the log, where a part of it is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap: Option<WireGap>,
}

/// A hole in what was written. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireGap {
    /// The bytes before it.
    pub before: String,
    /// How many are missing.
    pub missing: u32,
    /// The bytes behind it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// Something else that was done. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireAction {
    /// The module.
    pub module: String,
    /// When (RFC 3339).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// What, in words.
    pub what: String,
    /// `accepted`, `refused` or `none`.
    pub answer: String,
}

/// What became of one step. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepDone {
    /// The module.
    pub module: String,
    /// The record, where a record was to be written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<String>,
    /// The setting, where it was to be set by name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setting: Option<String>,
    /// `read-back-as-wanted`, `made`, `read-back-otherwise`, `in-doubt` or `not-made`.
    pub outcome: String,
    /// What was read before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// What was to be written, once it was asked to be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub write: Option<String>,
    /// What the module answered in place of accepting the write.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// What was read last afterwards.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_back: Option<String>,
}

/// The head of the entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EntryInFull {
    /// Its number.
    pub number: u32,
    /// Its kind.
    pub kind: String,
    /// What it tells, in one line.
    pub headline: String,
    /// When it was filed (RFC 3339).
    pub recorded: String,
    /// When what it tells of happened (RFC 3339).
    pub happened: String,
    /// How exactly that is known: `second`, `day`, `month` or `year`.
    pub precision: String,
    /// Who filed it.
    pub author: Author,
    /// Why.
    pub why: String,
    /// The entries that correct it, in order.
    pub corrected_by: Vec<u32>,
    /// Whether one of them says that the work in it was never made.
    pub never_made: bool,
    /// The reason or note that it should have had, where a correction says so.
    pub corrected_words: Option<String>,
    /// Its signature.
    pub signature: Signature,
}

/// A field that the entry altered, or found altered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alteration {
    /// The field.
    pub field: String,
    /// As found; nothing when it was not known.
    pub found: Option<Content>,
    /// As left.
    pub left: Content,
    /// Where it comes from.
    pub origin: Origin,
    /// How well it is proven; nothing where it is no recorded work.
    pub proof: Option<Proof>,
    /// The write that brought it, where a bus log shows it.
    pub on_the_wire: Option<OnTheWire>,
}

/// A field as the entry told of it when it was filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AsFiled {
    /// The field.
    pub field: String,
    /// As found; nothing when it was not known.
    pub found: Option<Content>,
    /// As left.
    pub left: Content,
}

/// A reading in full.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingInFull {
    /// `as-found`, `as-left` or `check`.
    pub role: String,
    /// Whether it was said to cover less than earlier ones.
    pub partial: bool,
    /// Who took it, where the files say.
    pub by: Option<String>,
    /// With what it was taken.
    pub tool: Option<String>,
    /// The odometer, in kilometres.
    pub odometer_km: Option<u32>,
    /// The supply voltage, in volts, as decimal text.
    pub supply_voltage: Option<String>,
    /// `running` or `stopped`.
    pub engine: Option<String>,
    /// `on` or `off`.
    pub ignition: Option<String>,
    /// Modules that were asked and did not answer, by name.
    pub did_not_answer: Vec<String>,
    /// What it covered, by module.
    pub covered: BTreeMap<String, Covered>,
}

/// What a reading covered of one module. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Covered {
    /// The module's diagnostic address.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// Records, identifiers first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub records: Vec<String>,
    /// Settings by value alone, by name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub settings: Vec<String>,
    /// Records that the module refused to give.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub refused: Vec<String>,
    /// Trouble codes in the order of the reading; absent when the module was not scanned for them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble_codes: Option<Vec<ReportedCode>>,
}

/// An attached file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attached {
    /// Its name in the entry.
    pub name: String,
    /// Its size.
    pub bytes: usize,
    /// Its SHA-256, in lower-case hexadecimal.
    pub sha256: String,
}

impl Answer for Entry {
    const SCHEMA: &'static str = "asfound/entry/1";
    fn check(&self) {
        fields_rising("alterations", &self.alterations, |one| &one.field);
        fields_rising("fields as filed", &self.as_filed, |one| &one.field);
        fields_rising("fields corrected", &self.corrects, |one| &one.field);
        rising("attached files", &self.evidence, |file| file.name.clone());
        rising("corrections", &self.entry.corrected_by, |number| *number);
        if let Some(effects) = &self.effects {
            rising("identities", &effects.identities, |effect| effect.module.clone());
            rising("stated", &effects.stated, |effect| (effect.module.clone(), effect.setting.clone()));
            rising("records", &effects.records, |effect| {
                // Data identifiers are upper-case hexadecimal, blocks lower case: identifiers come first either way.
                (effect.module.clone(), effect.record.clone())
            });
        }
    }
}
