//! Parts of `asfound/sheet/1`: what was examined, and how the work stands.

use serde::{Deserialize, Serialize};

use super::{NewCode, ReportedCode};

/// The trial of a change or a put-back, as the whole journal has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrialOnSheet {
    /// The entry.
    pub entry: u32,
    /// `open`, `held`, `not-held` or `taken-over`.
    pub state: String,
    /// The entry by which it ended: a reading, or the later work that took it over.
    pub by: Option<u32>,
    /// While it is open: modules to be read after the vehicle was driven, by name.
    pub to_read: Vec<String>,
    /// While it is open: modules to be scanned for trouble codes after the vehicle was driven, by name.
    pub to_scan: Vec<String>,
    /// While it is open: codes that came since, by module.
    pub new_codes: Vec<NewCode>,
}

/// One module at the two moments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModuleOnSheet {
    /// The module.
    pub module: String,
    /// Its diagnostic address.
    pub address: Option<String>,
    /// What it said of itself as found.
    pub found: ModuleIdentity,
    /// What it said of itself as left.
    pub left: ModuleIdentity,
    /// Whether both differ in something that both tell.
    pub renewed: bool,
    /// Its records, identifiers first.
    pub records: Vec<ExaminedRecord>,
    /// The settings that were read at both moments and hold the same, by name.
    pub settings_same: Vec<SettingOnSheet>,
    /// The settings known by value that were not read at both moments, by name.
    pub settings_not_read: Vec<SettingOnSheet>,
}

/// One setting that did not change, or of which nothing is said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingOnSheet {
    /// The setting.
    pub setting: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// What it holds; nothing where it was not read.
    pub holds: Option<String>,
}

/// What a module says of itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModuleIdentity {
    /// The part number.
    pub part_number: Option<String>,
    /// The hardware.
    pub hardware: Option<String>,
    /// The software.
    pub software: Option<String>,
    /// The serial number.
    pub serial: Option<String>,
}

/// One record, examined.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExaminedRecord {
    /// The record.
    pub record: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// `same`, `changed-as-agreed`, `changed-otherwise`, `cannot-tell`, `only-volatile`, `not-read` or `refused`.
    pub verdict: String,
    /// How many bytes were compared.
    pub bytes_compared: usize,
    /// How many were left out because they change by themselves.
    pub bytes_volatile: usize,
    /// How many bits differ that no definition names.
    pub undeclared_bits: u32,
    /// Those of them of which nobody can tell whether they are a setting or a measured value.
    pub bits_unclear: u32,
    /// How many bits were left out, because they were seen to change without a write.
    pub bits_moving: u32,
    /// The reading that gave it as found.
    pub read_as_found: Option<u32>,
    /// The reading that gave it as left.
    pub read_as_left: Option<u32>,
}

/// Sums over all modules.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Totals {
    /// Records that are the same.
    pub same: usize,
    /// Records that changed as agreed.
    pub changed_as_agreed: usize,
    /// Records that changed otherwise.
    pub changed_otherwise: usize,
    /// Records in which nothing else differs but bits of which nobody can tell what they are.
    pub cannot_tell: usize,
    /// Records with nothing but bytes that change by themselves.
    pub only_volatile: usize,
    /// Records that were not read at both moments.
    pub not_read: usize,
    /// Records that were refused.
    pub refused: usize,
    /// Modules with at least one record that was compared.
    pub modules_compared: usize,
    /// Bytes that were compared.
    pub bytes_compared: usize,
    /// Bytes that were left out.
    pub bytes_volatile: usize,
    /// Bits that differ and that no definition names.
    pub undeclared_bits: u32,
    /// Those of them of which nobody can tell whether they are a setting or a measured value.
    pub bits_unclear: u32,
    /// In how many records there are such bits.
    pub records_unclear: usize,
    /// Bits that were left out, because they were seen to change without a write.
    pub bits_moving: u32,
    /// In how many records there are such bits.
    pub records_moving: usize,
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Changed {
    /// The module.
    pub module: String,
    /// The setting, or the record with the bits.
    pub field: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// The record that it lies in.
    pub record: Option<String>,
    /// As found.
    pub found: Option<String>,
    /// As left.
    pub left: Option<String>,
    /// How many bits it is, where no definition names them.
    pub undeclared_bits: Option<u32>,
    /// The entry that tells of it last.
    pub entry: Option<u32>,
    /// `as-authorised`, `agreed-afterwards`, `withdrawn-since`, `with-unit` (it came with a module, as authorised),
    /// `taken-back` (as before the order), `as-recorded`,
    /// `without-authority`, `another-hand` or `contradiction`.
    pub account: String,
    /// How well it is proven.
    pub level: Option<Level>,
}

/// How well a change is proven.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// `stated`, `read-back`, `partly-witnessed`, `witnessed`, `contradicted`, or `read` where no work is recorded.
    pub level: String,
    /// The reading that says so; nothing for `stated`.
    pub reading: Option<u32>,
}

/// The trouble codes of one module at the two moments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodesOfModule {
    /// The module.
    pub module: String,
    /// Whether it was scanned at both moments.
    pub examined: bool,
    /// There before and after.
    pub there_before: Vec<CodeOnSheet>,
    /// Only after.
    pub new: Vec<CodeOnSheet>,
    /// Only before.
    pub gone: Vec<CodeOnSheet>,
    /// Where it was not scanned at both moments: the codes of its last scan.
    pub last_known: Vec<CodeOnSheet>,
}

/// One trouble code, with what the readings tell of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodeOnSheet {
    /// The code.
    pub code: String,
    /// As the module reported it at the first moment.
    pub found: Option<ReportedCode>,
    /// As it reported it at the second.
    pub left: Option<ReportedCode>,
    /// The first reading of the journal that has it.
    pub first_seen: Option<SeenOnSheet>,
    /// The last, up to the second moment.
    pub last_seen: Option<SeenOnSheet>,
}

/// A reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeenOnSheet {
    /// The entry.
    pub entry: u32,
    /// When it was taken (RFC 3339).
    pub at: String,
}
