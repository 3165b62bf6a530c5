//! One step of a plan: one write of one record, or one setting set by name.

use crate::difference::Content;
use crate::names::{DefinitionId, ModuleName, RecordName, RuleName, SettingName};
use crate::reading::Address;
use crate::safety::{SafetyClass, SafetyTag};
use crate::value::{BitMask, HexBytes};

/// What a step writes: compare with what is expected, write, read back, compare again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Write {
    /// A whole record.
    Record {
        /// The record.
        record: RecordName,
        /// The bytes to find before; where they differ outside volatile bits, stop.
        expect: HexBytes,
        /// The bytes to write, which are also those to find afterwards, volatile bits apart.
        write: HexBytes,
        /// Bits that change by themselves and are left out of both comparisons.
        volatile: BitMask,
    },
    /// A setting whose bytes nobody has read, set by name.
    ByName {
        /// The setting.
        setting: SettingName,
        /// The value to find before; nothing when it is not known and the work is one-way.
        expect: Option<String>,
        /// The value to set and to find afterwards.
        write: String,
    },
    /// A whole record whose content as found is not known.
    BlindRecord {
        /// The record.
        record: RecordName,
        /// The content as found, as told by the user.
        expect: Option<HexBytes>,
        /// The bytes to write.
        write: HexBytes,
    },
}

/// A setting that a step alters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepSetting {
    /// The setting.
    pub setting: SettingName,
    /// Its label, where a definition gives one.
    pub label: Option<String>,
    /// What it holds; nothing when that is not known.
    pub found: Option<Content>,
    /// What it will hold.
    pub left: Content,
}

/// One step of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The module.
    pub module: ModuleName,
    /// Its diagnostic address, where known.
    pub address: Option<Address>,
    /// What is written.
    pub write: Write,
    /// The settings that it alters.
    pub settings: Vec<StepSetting>,
    /// The bits that it alters and that no definition names.
    pub undeclared: BitMask,
    /// The class of care: of the whole record, not only of the settings that are altered.
    pub class: SafetyClass,
    /// The restricted tags behind that class, which must be acknowledged.
    pub restricted: Vec<SafetyTag>,
    /// What to watch out for.
    pub cautions: Vec<String>,
    /// The definition that explains the record.
    pub definition: Option<DefinitionId>,
    /// Where the step leaves something that is not yet what is wanted: why. A later step of the plan brings that about.
    pub intermediate: Option<Intermediate>,
    /// What else is to be known of the step before it is made.
    pub remarks: Vec<String>,
}

/// Why a record is written to something that nobody asked for, and what.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Intermediate {
    /// The rules because of which the record cannot be written in one go.
    pub rules: Vec<RuleName>,
    /// Settings that hold for a time a value which they neither held before nor are to hold.
    pub for_a_time: Vec<SettingName>,
}
