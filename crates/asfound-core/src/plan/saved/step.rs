//! One step as it stands in a saved plan, and what is held against what.

use std::fmt;

use thiserror::Error;

use crate::entry::StepPlace;
use crate::names::{DefinitionId, ModuleName, RecordName, SettingName, SettingPath};
use crate::plan::{Intermediate, Step, Write, read_request, write_request};
use crate::reading::Address;
use crate::safety::{SafetyClass, SafetyTag};
use crate::value::{BitMask, HexBytes};

/// The longest value that is taken in as said, in bytes.
const LONGEST: usize = 4096;

/// What was said of a record or a setting: its bytes, or its value as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StatedContent {
    /// The bytes of a record.
    Bytes(HexBytes),
    /// The value of a setting, on one line.
    Value(String),
}

impl fmt::Display for StatedContent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bytes(bytes) => bytes.fmt(f),
            Self::Value(text) => f.pad(text),
        }
    }
}

/// Why a text cannot be what a record or a setting said.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StatedContentError {
    /// It is no hexadecimal.
    #[error("{0}")]
    Hexadecimal(String),
    /// The record has another length.
    #[error("the record has {expected} bytes, {found} were given")]
    Length {
        /// The record's length.
        expected: usize,
        /// What was given.
        found: usize,
    },
    /// There is nothing, more than one line, or far too much.
    #[error("a value is a short text on one line")]
    Value,
}

/// What a step writes, for people and programs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SavedWrite {
    /// A whole record.
    Record {
        /// The record.
        record: RecordName,
        /// The bytes to find before; nothing when they are not known.
        expect: Option<HexBytes>,
        /// The bytes to write and to find afterwards.
        write: HexBytes,
        /// Bits that change by themselves and are left out of both comparisons.
        volatile: BitMask,
    },
    /// A setting by name.
    Setting {
        /// The setting.
        setting: SettingName,
        /// The value to find before; nothing when it is not known.
        expect: Option<String>,
        /// The value to set and to find afterwards.
        write: String,
    },
}

/// A setting that a step alters, as people see it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedSetting {
    /// The setting.
    pub setting: SettingName,
    /// What it holds; nothing when that is not known.
    pub found: Option<String>,
    /// What it will hold.
    pub left: String,
}

/// One step as it stands in a saved plan: everything that is needed to carry it out without the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedStep {
    /// The module.
    pub module: ModuleName,
    /// Its diagnostic address, where known.
    pub address: Option<Address>,
    /// What is written.
    pub write: SavedWrite,
    /// The settings that it alters.
    pub settings: Vec<SavedSetting>,
    /// The bits that it alters and that no definition names.
    pub undeclared: BitMask,
    /// The class of care.
    pub class: SafetyClass,
    /// The restricted tags behind that class.
    pub restricted: Vec<SafetyTag>,
    /// What to watch out for.
    pub cautions: Vec<String>,
    /// The definition that explains the record.
    pub definition: Option<DefinitionId>,
    /// Where the step leaves something that is not yet what is wanted: why.
    pub intermediate: Option<Intermediate>,
    /// What else is to be known of the step before it is made.
    pub remarks: Vec<String>,
}

impl SavedStep {
    /// A step of a plan, as it is saved.
    pub fn of(step: &Step) -> Self {
        let write = match step.write.clone() {
            Write::Record { record, expect, write, volatile } => {
                SavedWrite::Record { record, expect: Some(expect), write, volatile: plain(&volatile) }
            }
            Write::BlindRecord { record, expect, write } => {
                SavedWrite::Record { record, expect, write, volatile: BitMask::default() }
            }
            Write::ByName { setting, expect, write } => SavedWrite::Setting { setting, expect, write },
        };
        let settings = step.settings.iter().map(|setting| SavedSetting {
            setting: setting.setting.clone(),
            found: setting.found.as_ref().map(ToString::to_string),
            left: setting.left.to_string(),
        });
        Self {
            module: step.module.clone(),
            address: step.address,
            write,
            settings: settings.collect(),
            undeclared: plain(&step.undeclared),
            class: step.class,
            restricted: step.restricted.clone(),
            cautions: step.cautions.clone(),
            definition: step.definition.clone(),
            intermediate: step.intermediate.clone(),
            remarks: step.remarks.clone(),
        }
    }

    /// Where it writes.
    pub fn place(&self) -> StepPlace {
        let module = self.module.clone();
        match &self.write {
            SavedWrite::Record { record, .. } => StepPlace::Record(module, record.clone()),
            SavedWrite::Setting { setting, .. } => StepPlace::Setting(SettingPath { module, setting: setting.clone() }),
        }
    }

    /// What is to be found before; nothing when that is not known.
    pub fn expected(&self) -> Option<StatedContent> {
        match &self.write {
            SavedWrite::Record { expect, .. } => expect.clone().map(StatedContent::Bytes),
            SavedWrite::Setting { expect, .. } => expect.clone().map(StatedContent::Value),
        }
    }

    /// What is to be found afterwards, volatile bits apart.
    pub fn wanted(&self) -> StatedContent {
        match &self.write {
            SavedWrite::Record { write, .. } => StatedContent::Bytes(write.clone()),
            SavedWrite::Setting { write, .. } => StatedContent::Value(write.clone()),
        }
    }

    /// What to write, given what was found: bits that change by themselves are written as they were found just now,
    /// so that a counter is not put back to what it once was.
    pub fn to_write(&self, found: Option<&StatedContent>) -> StatedContent {
        match (&self.write, found) {
            (SavedWrite::Record { write, volatile, .. }, Some(StatedContent::Bytes(found))) => {
                let mut bytes = write.as_slice().to_vec();
                volatile.copy(found.as_slice(), &mut bytes);
                StatedContent::Bytes(HexBytes::from(bytes))
            }
            _ => self.wanted(),
        }
    }

    /// The bits that are left out of comparisons.
    pub fn volatile(&self) -> BitMask {
        match &self.write {
            SavedWrite::Record { volatile, .. } => volatile.clone(),
            SavedWrite::Setting { .. } => BitMask::default(),
        }
    }

    /// The request that reads what the step writes; nothing where there is no data identifier.
    pub fn read_request(&self) -> Option<HexBytes> {
        match &self.write {
            SavedWrite::Record { record, .. } => read_request(record),
            SavedWrite::Setting { .. } => None,
        }
    }

    /// The request that writes `said`; nothing where there is no data identifier.
    pub fn write_request(&self, said: &StatedContent) -> Option<HexBytes> {
        match (&self.write, said) {
            (SavedWrite::Record { record, .. }, StatedContent::Bytes(bytes)) => write_request(record, bytes),
            _ => None,
        }
    }

    /// Takes in what somebody read or typed.
    ///
    /// # Errors
    /// When it cannot be what this record or setting said.
    pub fn said(&self, text: &str) -> Result<StatedContent, StatedContentError> {
        match &self.write {
            SavedWrite::Record { write, .. } => {
                let bytes: HexBytes =
                    text.parse().map_err(|error| StatedContentError::Hexadecimal(format!("{error}")))?;
                let (expected, found) = (write.len(), bytes.len());
                if expected == found {
                    Ok(StatedContent::Bytes(bytes))
                } else {
                    Err(StatedContentError::Length { expected, found })
                }
            }
            SavedWrite::Setting { .. } => {
                let text = text.trim();
                let fits = !text.is_empty() && text.len() <= LONGEST && !text.chars().any(char::is_control);
                if fits { Ok(StatedContent::Value(text.to_owned())) } else { Err(StatedContentError::Value) }
            }
        }
    }

    /// Where two contents of what the step writes differ, volatile bits apart; nothing where they do not.
    pub fn difference(&self, wanted: &StatedContent, said: &StatedContent) -> Option<Mismatch> {
        let bits = match (wanted, said) {
            (StatedContent::Bytes(wanted), StatedContent::Bytes(said)) => {
                let mut bits = BitMask::differing(wanted.as_slice(), said.as_slice());
                bits.remove(&self.volatile());
                if bits.is_empty() {
                    return None;
                }
                bits
            }
            (wanted, said) if wanted == said => return None,
            _ => BitMask::default(),
        };
        Some(Mismatch { wanted: wanted.clone(), said: said.clone(), bits })
    }
}

/// A mask without bits has no length either, so that there is one way to write it.
fn plain(mask: &BitMask) -> BitMask {
    if mask.is_empty() { BitMask::default() } else { mask.clone() }
}

/// That something is not what it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mismatch {
    /// What it should be.
    pub wanted: StatedContent,
    /// What it is.
    pub said: StatedContent,
    /// The bits in which that differs, where it is a record.
    pub bits: BitMask,
}

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} instead of {}", self.said, self.wanted)?;
        if !self.bits.is_empty() {
            write!(f, " (differs in {})", self.bits)?;
        }
        Ok(())
    }
}
