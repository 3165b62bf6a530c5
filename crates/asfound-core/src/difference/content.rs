//! What a field holds.

use std::fmt;
use std::sync::Arc;

use crate::definition::SettingDefinition;
use crate::layout::Coded;
use crate::names::{DefinitionId, RecordName};
use crate::sameness::{Incomparable, Sameness, compare_texts, compare_value_with_text, compare_values};
use crate::value::{BitMask, HexBytes, Value};

/// What a setting, or a group of bits that no definition names, holds.
///
/// A clone shares the value: what one entry left is what the next one found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Content {
    /// A setting explained by a definition from the bytes of a record.
    Coded {
        /// The coded bits.
        coded: Coded,
        /// Their value; nothing when the definition gives them no meaning.
        value: Option<Arc<Value>>,
        /// The record that holds them.
        record: RecordName,
        /// The definition that explains them.
        definition: DefinitionId,
    },
    /// A setting known by value alone.
    Stated {
        /// The value as written.
        text: String,
        /// The value, where a definition types it.
        value: Option<Arc<Value>>,
    },
    /// Bits of a record that no definition names.
    Bits {
        /// Which bits.
        mask: BitMask,
        /// The record's bytes as they were, other bits included.
        bytes: HexBytes,
    },
}

impl Content {
    /// What the bytes of a record say of a setting; nothing when the record is too short.
    pub fn decoded(setting: &SettingDefinition, definition: &DefinitionId, bytes: &[u8]) -> Option<Self> {
        let coded = setting.layout().coded(bytes).ok()?;
        let value = setting.layout().decode(bytes).ok().map(Arc::new);
        Some(Self::Coded { coded, value, record: setting.record().clone(), definition: definition.clone() })
    }

    /// A setting known by value alone, typed where a definition knows it.
    pub fn stated(setting: Option<&SettingDefinition>, text: &str) -> Self {
        let value = setting.and_then(|setting| setting.layout().parse_value(text).ok().map(Arc::new));
        Self::Stated { text: text.to_owned(), value }
    }

    /// The same, typed by a definition that has come to be known since.
    #[must_use]
    pub fn typed_by(self, setting: Option<&SettingDefinition>) -> Self {
        match self {
            Self::Stated { text, value: None } => Self::stated(setting, &text),
            other => other,
        }
    }

    /// Some bits of a record that has these bytes.
    pub fn bits(mask: &BitMask, bytes: &HexBytes) -> Self {
        Self::Bits { mask: mask.clone(), bytes: bytes.clone() }
    }

    /// The bytes of the record, where it is bits of one without a name.
    pub fn bytes(&self) -> Option<&[u8]> {
        match self {
            Self::Bits { bytes, .. } => Some(bytes.as_slice()),
            Self::Coded { .. } | Self::Stated { .. } => None,
        }
    }

    /// Whether it is bits that no definition names.
    pub fn is_bits(&self) -> bool {
        matches!(self, Self::Bits { .. })
    }

    /// The value, where there is one.
    pub fn value(&self) -> Option<&Value> {
        match self {
            Self::Coded { value, .. } | Self::Stated { value, .. } => value.as_deref(),
            Self::Bits { .. } => None,
        }
    }

    /// The place and the definition that coded bits belong to, and the bits.
    fn explained(&self) -> Option<((&RecordName, &DefinitionId), &Coded)> {
        match self {
            Self::Coded { coded, record, definition, .. } => Some(((record, definition), coded)),
            _ => None,
        }
    }

    /// How both stand to each other: coded bits of one place under one definition by the bits, anything else by its value.
    pub fn compare(&self, other: &Self) -> Sameness {
        let explained = self.explained().zip(other.explained());
        if let Some(((mine, coded), (theirs, other))) = explained
            && mine == theirs
        {
            return if coded == other { Sameness::Same } else { Sameness::Different };
        }
        match (self, other) {
            (Self::Bits { mask, bytes }, Self::Bits { mask: other, bytes: theirs }) => {
                let differ = || BitMask::differing(bytes.as_slice(), theirs.as_slice()).overlaps(mask);
                if mask != other {
                    Sameness::CannotTell(Incomparable::OtherBits)
                } else if bytes.len() != theirs.len() || differ() {
                    Sameness::Different
                } else {
                    Sameness::Same
                }
            }
            (Self::Bits { .. }, _) | (_, Self::Bits { .. }) => Sameness::CannotTell(Incomparable::OtherBits),
            (Self::Stated { text, .. }, Self::Stated { text: theirs, .. }) if text == theirs => Sameness::Same,
            (Self::Stated { text, value: None }, other) | (other, Self::Stated { text, value: None }) => {
                other.compare_with_text(text)
            }
            _ => match (self.value(), other.value()) {
                (Some(value), Some(theirs)) => {
                    let one_definition = explained.is_none_or(|((mine, _), (theirs, _))| mine.1 == theirs.1);
                    compare_values(value, theirs, one_definition)
                }
                _ => Sameness::CannotTell(Incomparable::NoMeaning),
            },
        }
    }

    /// How it stands to a value that no definition types.
    pub fn compare_with_text(&self, text: &str) -> Sameness {
        match self {
            Self::Coded { value: Some(value), .. } | Self::Stated { value: Some(value), .. } => {
                compare_value_with_text(value, text)
            }
            Self::Stated { text: own, value: None } => compare_texts(own, text),
            Self::Coded { value: None, .. } if self.to_string() == text => Sameness::Same,
            Self::Coded { value: None, .. } => Sameness::CannotTell(Incomparable::NoMeaning),
            Self::Bits { .. } => Sameness::CannotTell(Incomparable::OtherBits),
        }
    }

    /// Whether both certainly hold the same, said alike or not.
    pub fn same(&self, other: &Self) -> bool {
        self.compare(other).is_same()
    }
}

impl fmt::Display for Content {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Coded { value: Some(value), .. } | Self::Stated { value: Some(value), .. } => value.fmt(f),
            Self::Coded { coded, value: None, .. } => f.pad(&format!("{coded} (no meaning)")),
            Self::Stated { text, value: None } => f.pad(text),
            Self::Bits { bytes, .. } => bytes.fmt(f),
        }
    }
}
