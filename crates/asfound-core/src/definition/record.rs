//! A record, as a definition describes it.

use crate::layout::Checksum;
use crate::names::{RecordName, SettingName};
use crate::safety::SafetyClass;
use crate::value::BitMask;

/// A record, as a definition describes it. Its masks have the record's length.
#[derive(Debug, Clone)]
pub struct RecordDefinition {
    pub(super) name: RecordName,
    pub(super) label: String,
    pub(super) length: usize,
    pub(super) volatile: BitMask,
    pub(super) checksum: Option<Checksum>,
    pub(super) settings: Vec<SettingName>,
    pub(super) named: BitMask,
    pub(super) class: SafetyClass,
}

impl RecordDefinition {
    /// Its name.
    pub fn name(&self) -> &RecordName {
        &self.name
    }

    /// What it is called, for people.
    pub fn label(&self) -> &str {
        &self.label
    }

    /// Its length in bytes, 1 to 4095.
    pub fn length(&self) -> usize {
        self.length
    }

    /// The bits that change by themselves, always whole bytes.
    pub fn volatile(&self) -> &BitMask {
        &self.volatile
    }

    /// The checksum that it carries.
    pub fn checksum(&self) -> Option<&Checksum> {
        self.checksum.as_ref()
    }

    /// The settings in it, by name.
    pub fn settings(&self) -> &[SettingName] {
        &self.settings
    }

    /// The bits of its settings.
    pub fn named(&self) -> &BitMask {
        &self.named
    }

    /// Every bit that belongs to no setting, is no checksum and does not change by itself.
    pub fn undeclared(&self) -> BitMask {
        let mut mask = BitMask::all(self.length);
        mask.remove(&self.named);
        mask.remove(&self.volatile);
        if let Some(checksum) = &self.checksum {
            mask.remove(&checksum.mask(self.length));
        }
        mask
    }

    /// The strictest class of any setting in it; without settings, the class of bits that nobody has named
    /// ([`super::Definition::undeclared_class`]).
    pub fn class(&self) -> SafetyClass {
        self.class
    }
}
