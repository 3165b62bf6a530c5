//! A setting, as a definition describes it.

use thiserror::Error;

use super::{Affected, NotPermitted, Permitted};
use crate::document::TextPosition;
use crate::layout::{Layout, ValueTextError};
use crate::names::{RecordName, SettingPath};
use crate::safety::{SafetyClass, SafetyTag};
use crate::value::Value;

/// Why a text is no value that a setting may have.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SettingValueError {
    /// It is no value of the setting's type.
    #[error(transparent)]
    Text(#[from] ValueTextError),
    /// It is one, but the setting may not have it.
    #[error(transparent)]
    NotPermitted(#[from] NotPermitted),
}

/// A setting, as a definition describes it: where it is, what it may be, and what it takes to alter it.
#[derive(Debug, Clone)]
pub struct SettingDefinition {
    pub(super) path: SettingPath,
    pub(super) label: String,
    pub(super) record: RecordName,
    pub(super) layout: Layout,
    pub(super) permitted: Permitted,
    pub(super) factory: Option<Value>,
    pub(super) tags: Vec<SafetyTag>,
    pub(super) cautions: Vec<String>,
    pub(super) affects: Vec<Affected>,
    pub(super) about: Option<String>,
    pub(super) source: Option<String>,
    pub(super) place: TextPosition,
}

impl SettingDefinition {
    /// Module and name.
    pub fn path(&self) -> &SettingPath {
        &self.path
    }

    /// What it is called, for people.
    pub fn label(&self) -> &str {
        &self.label
    }

    /// The record that holds it.
    pub fn record(&self) -> &RecordName {
        &self.record
    }

    /// How it sits in its record.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Which values it may have.
    pub fn permitted(&self) -> &Permitted {
        &self.permitted
    }

    /// The value that it leaves the factory with, where that is known.
    pub fn factory(&self) -> Option<&Value> {
        self.factory.as_ref()
    }

    /// Its safety tags; at least one, none twice.
    pub fn tags(&self) -> &[SafetyTag] {
        &self.tags
    }

    /// What to take care of when it is altered, beyond the general cautions.
    pub fn cautions(&self) -> &[String] {
        &self.cautions
    }

    /// Modules and settings that it acts on.
    pub fn affects(&self) -> &[Affected] {
        &self.affects
    }

    /// A sentence or two on what it does.
    pub fn about(&self) -> Option<&str> {
        self.about.as_deref()
    }

    /// Where the facts come from.
    pub fn source(&self) -> Option<&str> {
        self.source.as_deref()
    }

    /// Where the definition file describes it.
    pub fn place(&self) -> TextPosition {
        self.place
    }

    /// The strictest class of its tags.
    pub fn class(&self) -> SafetyClass {
        self.tags.iter().map(|tag| tag.class()).max().unwrap_or(SafetyClass::Caution)
    }

    /// Whether it may have a value: the bits can hold it, and the definition permits it.
    pub fn check(&self, value: &Value) -> Result<(), NotPermitted> {
        self.layout.coded_for(value)?;
        if self.permitted.permits(value) {
            Ok(())
        } else {
            Err(NotPermitted::Refused { value: value.clone(), permitted: Box::new(self.permitted.clone()) })
        }
    }

    /// The value that a text means, if the setting may have it.
    pub fn parse_value(&self, text: &str) -> Result<Value, SettingValueError> {
        let value = self.layout.parse_value(text)?;
        self.check(&value)?;
        Ok(value)
    }
}
