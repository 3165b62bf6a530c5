//! `asfound/sheet/1`: what `handover` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Changed, CodesOfModule, ModuleOnSheet, Totals, TrialOnSheet, rising};

/// Everything that a handover sheet says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// The schema.
    pub schema: String,
    /// The file that was written; nothing where none was asked for.
    pub file: Option<String>,
    /// The sheet's own number, made from all that it says.
    pub number: String,
    /// When it was printed (RFC 3339).
    pub printed: String,
    /// The vehicle.
    pub vehicle: VehicleOnSheet,
    /// For whom it was printed.
    pub customer: Option<String>,
    /// By whom.
    pub workshop: WorkshopOnSheet,
    /// What was asked for and agreed, by work order; none where no work order covers what lies between the moments.
    pub agreements: Vec<Agreement>,
    /// The first moment.
    pub found: Conditions,
    /// The second moment.
    pub left: Conditions,
    /// The entries between the two, both included, notes and corrections apart, in their order.
    pub work: Vec<LineOfWork>,
    /// The trials of that work, by entry.
    pub trials: Vec<TrialOnSheet>,
    /// The modules, by name.
    pub modules: Vec<ModuleOnSheet>,
    /// Sums over the modules.
    pub totals: Totals,
    /// How much stayed as it was, of what was read at both moments.
    pub same: StayedSame,
    /// Everything that differs between the two moments, by module.
    pub changes: Vec<Changed>,
    /// The safety tags of what was altered, mildest first.
    pub systems: Vec<String>,
    /// Trouble codes, by module.
    pub codes: Vec<CodesOfModule>,
    /// Cautions of the definitions for what was altered.
    pub cautions: Vec<String>,
    /// Acknowledgements of restricted systems, by entry.
    pub acknowledgements: Vec<Acknowledged>,
    /// The notes between the two moments, by entry.
    pub noticed: Vec<Noticed>,
    /// What was planned or authorised and not done.
    pub undone: Vec<Undone>,
    /// Corrections of entries that the sheet shows, in the order of the corrections.
    pub amendments: Vec<Amendment>,
    /// What the sheet cannot say.
    pub limits: Vec<Limit>,
    /// Who signed what, by entry.
    pub signatures: Vec<SignatureOnSheet>,
    /// The seal of the journal when the sheet was printed.
    pub seal: SealOnSheet,
}

/// The vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VehicleOnSheet {
    /// Its tag.
    pub tag: String,
    /// Its VIN.
    pub vin: Option<String>,
    /// Its description.
    pub about: Option<String>,
}

/// The workshop, from garage.toml.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkshopOnSheet {
    /// Its name.
    pub name: Option<String>,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Its licence or approval.
    pub licence: Option<String>,
    /// What stands at the foot.
    pub footer: Option<String>,
}

/// What was asked for and agreed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Agreement {
    /// The number of the work order.
    pub order: String,
    /// What was asked for; nothing where nobody said.
    pub asked: Option<String>,
    /// What was authorised.
    pub authorised: Vec<AuthorisedWork>,
    /// The consents, in their order.
    pub consents: Vec<Consent>,
}

/// How much stayed as it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StayedSame {
    /// Settings.
    pub settings: usize,
    /// Records.
    pub records: usize,
    /// Modules that they are in.
    pub modules: usize,
}

/// One piece of work that was authorised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AuthorisedWork {
    /// The setting, the record as `module:record`, or the module.
    pub field: String,
    /// The value or the bytes; nothing for a module, which becomes another unit or gets other software.
    pub value: Option<String>,
    /// How it was written down first, where it was put right.
    pub first_written: Option<String>,
    /// The entry in which the customer took it back.
    pub withdrawn: Option<u32>,
}

/// A consent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Consent {
    /// The entry.
    pub entry: u32,
    /// Who consented, and how.
    pub words: String,
    /// The estimate that was agreed to with it.
    pub estimate: Option<String>,
    /// When it was filed (RFC 3339).
    pub at: Option<String>,
}

/// The conditions at one moment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Conditions {
    /// The entry.
    pub entry: u32,
    /// `as-found`, `as-left` or `check`; nothing where it is no reading.
    pub role: Option<String>,
    /// Whether the reading was meant to cover less than earlier ones.
    pub partial: bool,
    /// When (RFC 3339).
    pub at: String,
    /// By whom.
    pub by: String,
    /// With what.
    pub tool: Option<String>,
    /// The odometer, in kilometres.
    pub odometer_km: Option<u32>,
    /// The supply voltage, in volts.
    pub supply_voltage: Option<String>,
}

/// One entry of work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineOfWork {
    /// The entry.
    pub entry: u32,
    /// Its kind.
    pub kind: String,
    /// Why it was taken, where it is a reading.
    pub role: Option<String>,
    /// When (RFC 3339).
    pub at: String,
    /// By whom.
    pub by: String,
    /// Why.
    pub why: String,
    /// What it altered.
    pub altered: Vec<AlteredOnSheet>,
    /// Whether a later entry says that it was never made.
    pub never_made: bool,
}

/// One alteration that an entry tells of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AlteredOnSheet {
    /// The setting, or undeclared bits.
    pub field: String,
    /// As found.
    pub found: Option<String>,
    /// As left.
    pub left: String,
}

/// An acknowledgement of a restricted system.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acknowledged {
    /// The entry.
    pub entry: u32,
    /// The safety tag.
    pub system: String,
    /// By whom.
    pub name: String,
    /// On what grounds.
    pub grounds: String,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Noticed {
    /// The entry.
    pub entry: u32,
    /// When (RFC 3339).
    pub at: String,
    /// By whom.
    pub by: String,
    /// What.
    pub words: String,
}

/// Something that was planned or authorised and not done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Undone {
    /// The entry that tells of it; nothing where it was only authorised.
    pub entry: Option<u32>,
    /// The setting, the record or the module.
    pub what: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// The value or the bytes that were authorised; nothing where a step was planned, and for a module.
    pub value: Option<String>,
    /// What became of the step, where it was planned.
    pub outcome: Option<String>,
}

/// A correction beside what it corrects.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// The entry that corrects.
    pub entry: u32,
    /// The entry that is corrected.
    pub corrects: u32,
    /// When (RFC 3339).
    pub at: String,
    /// By whom.
    pub by: String,
    /// Whether the work was never made.
    pub never_made: bool,
    /// The words as they stood.
    pub original: String,
    /// The words as they should have been, where they were wrong.
    pub words: Option<String>,
    /// Why it was corrected.
    pub why: String,
}

/// Something that the sheet cannot say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// `not-read-as-found`, `not-read-as-left`, `partial`, `records-not-read`, `records-refused`, `codes-not-examined`,
    /// `in-doubt`, `not-read-back`, `signed-for-another` or `later-entries`.
    pub limit: String,
    /// The reading; absent but for `partial`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<u32>,
    /// How many records; absent where it is not about records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub records: Option<usize>,
    /// How many modules; absent but for `codes-not-examined`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub modules: Option<usize>,
    /// How many changes; absent but for `not-read-back`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub changes: Option<usize>,
    /// How many entries; absent but for `signed-for-another` and `later-entries`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entries: Option<usize>,
    /// How many steps; absent but for `in-doubt`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steps: Option<usize>,
}

/// What the signature of an entry is worth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignatureOnSheet {
    /// The entry.
    pub entry: u32,
    /// When it was filed (RFC 3339).
    pub at: String,
    /// Whose name stands under it.
    pub name: String,
    /// In what meaning: `made`, `read`, `stated` or `released`.
    pub meaning: String,
    /// `good`, `for-another` (the key is not the author's), `unknown`, `bad` or `unsigned`.
    pub standing: String,
    /// The name by which the key is trusted, where that is not the author's.
    pub signer: Option<String>,
    /// The fingerprint of the key.
    pub key: Option<String>,
}

/// The seal of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SealOnSheet {
    /// How many entries it is over.
    pub entries: u64,
    /// In full.
    pub full: String,
    /// In the short form.
    pub short: String,
}

impl Answer for Sheet {
    const SCHEMA: &'static str = "asfound/sheet/1";
    fn check(&self) {
        rising("work", &self.work, |line| line.entry);
        rising("trials", &self.trials, |trial| trial.entry);
        rising("modules", &self.modules, |module| module.module.clone());
        rising("codes", &self.codes, |codes| codes.module.clone());
        rising("signatures", &self.signatures, |signature| signature.entry);
    }
}
