//! What a field holds.

use std::fmt;
use std::sync::Arc;

use crate::definition::SettingDefinition;
use crate::layout::Coded;
use crate::names::{DefinitionId, RecordName};
use crate::sameness::Sameness;
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
        /// The record's bytes with every other bit 0.
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

    /// Some bits of a record.
    pub fn bits(mask: &BitMask, bytes: &[u8]) -> Self {
        Self::Bits { mask: mask.clone(), bytes: HexBytes::from(mask.of(bytes)) }
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

    /// What can be said of the two.
    pub fn compare(&self, other: &Self) -> Sameness {
        if self.same(other) { Sameness::Same } else { Sameness::Different }
    }

    /// Whether both hold the same: the same coded bits under one definition, or else the same value.
    pub fn same(&self, other: &Self) -> bool {
        if let (Some((mine, coded)), Some((theirs, other))) = (self.explained(), other.explained())
            && mine == theirs
        {
            return coded == other;
        }
        match (self, other) {
            (Self::Bits { mask, bytes }, Self::Bits { mask: other, bytes: theirs }) => mask == other && bytes == theirs,
            (Self::Stated { text, .. }, Self::Stated { text: theirs, .. }) if text == theirs => true,
            (Self::Stated { text, value: None }, other) | (other, Self::Stated { text, value: None }) => {
                other.to_string() == *text
            }
            _ => self.value().is_some() && self.value() == other.value(),
        }
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
