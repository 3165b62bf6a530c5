//! What can be wrong with a reading, and what is worth saying about one.

use thiserror::Error;

use super::MissingItem;
use crate::definition::AmbiguousDefinition;
use crate::layout::Coded;
use crate::names::{DefinitionId, EntryNumber, ModuleName, RecordName, RuleName, SettingName, Tag, Vin};
use crate::state::TimingRemark;
use crate::trouble_code::TroubleCode;

/// Why a reading is not filed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadingProblem {
    /// It was taken from another vehicle, by its tag.
    #[error("the reading says that it was taken from `{said}`, not from `{tag}`")]
    OtherTag {
        /// What the reading says.
        said: Tag,
        /// The vehicle it should be filed for.
        tag: Tag,
    },
    /// It was taken from another vehicle, by its VIN.
    #[error("the reading has VIN {said}, the journal is about {}", .known.as_ref().map_or("a vehicle without VIN", Vin::as_str))]
    OtherVin {
        /// What the reading says.
        said: Vin,
        /// The vehicle it should be filed for.
        known: Option<Vin>,
    },
    /// It says nothing of any module.
    #[error("the reading holds no module")]
    Empty,
    /// A record is shorter or longer than its definition says.
    #[error("{module} record {record}: {found} bytes, definition {definition} says {expected}")]
    Length {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
        /// Bytes in the reading.
        found: usize,
        /// Bytes in the definition.
        expected: usize,
        /// The definition.
        definition: DefinitionId,
    },
    /// A record is both given and refused.
    #[error("{module} record {record} is both given and refused")]
    GivenAndRefused {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
    },
    /// A record has no bytes.
    #[error("{module} record {record} has no bytes; a record that the module would not give belongs under `refused`")]
    NoBytes {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
    },
    /// A module both said something and did not answer.
    #[error("{0} is said not to have answered, and yet the reading has what it said")]
    AnsweredAndNot(ModuleName),
    /// A value is none that the setting can have.
    #[error("{module}.{setting} = {value}: {why}")]
    Value {
        /// The module.
        module: ModuleName,
        /// The setting.
        setting: SettingName,
        /// The value as written.
        value: String,
        /// What is wrong with it.
        why: String,
    },
    /// Bytes and value of one setting contradict each other.
    #[error("{module}.{setting}: the value says {value}, byte {byte} of record {record} says {by_bytes}")]
    Contradiction {
        /// The module.
        module: ModuleName,
        /// The setting.
        setting: SettingName,
        /// The value as written.
        value: String,
        /// The record.
        record: RecordName,
        /// The first byte of the setting, from 0.
        byte: usize,
        /// What the bytes say.
        by_bytes: String,
    },
    /// It lacks what earlier readings had.
    #[error("the reading is incomplete: earlier readings also had {}", list(.0))]
    Incomplete(Vec<MissingItem>),
}

fn list(items: &[MissingItem]) -> String {
    const SHOWN: usize = 8;
    let mut text: Vec<String> = items.iter().take(SHOWN).map(ToString::to_string).collect();
    if items.len() > SHOWN {
        text.push(format!("{} more", items.len() - SHOWN));
    }
    text.join(", ")
}

impl ReadingProblem {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::OtherTag { said, .. } => Some(format!("file it with `asfound read {said} …`")),
            Self::Length { .. } => {
                Some("check the bytes, or the module's part number and software: another definition may fit".into())
            }
            Self::Contradiction { .. } => Some("read again, and leave out what was not read".into()),
            Self::Incomplete(_) => Some(
                "read the rest too, or say `--partial` to file what there is; the rest keeps its last content".into(),
            ),
            _ => None,
        }
    }
}

/// Something about a reading that does not keep it from being filed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadingRemark {
    /// No definition fits the module: bytes are kept, nothing is explained.
    NoDefinition(ModuleName),
    /// Several definitions fit the module, so that none of them explains it: likewise.
    SeveralDefinitions(AmbiguousDefinition),
    /// The checksum in a record does not fit its other bytes.
    Checksum(ModuleName, RecordName),
    /// A setting's bits have no meaning in the definition.
    NoMeaning(ModuleName, SettingName, Coded),
    /// A setting has a value that its definition does not permit.
    NotPermitted(ModuleName, SettingName, String),
    /// The moment at which it was taken may be a slip.
    Timing(TimingRemark),
    /// The odometer shows less than before.
    OdometerBack {
        /// What it shows, in kilometres.
        now: u32,
        /// What it showed, in kilometres.
        before: u32,
        /// Where that stands.
        entry: EntryNumber,
    },
    /// A trouble code is not plausible in the situation in which it was read. It is kept as it was read.
    ImplausibleCode {
        /// The module.
        module: ModuleName,
        /// The code.
        code: TroubleCode,
        /// What speaks against it: `the engine was stopped`.
        against: String,
        /// Why that speaks against it, as the definition has it.
        because: String,
        /// The plausibility rule.
        rule: RuleName,
    },
    /// The supply voltage was below 12 V (common practice, no source): modules may have answered wrongly.
    LowVoltage,
}
