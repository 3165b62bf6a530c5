//! A definition before it is text.

use asfound_core::definition::Permitted;
use asfound_core::layout::Layout;
use asfound_core::safety::SafetyTag;

use crate::error::Place;

/// A setting of a draft.
#[derive(Debug, Clone)]
pub(crate) struct SettingDraft {
    pub(crate) name: String,
    pub(crate) label: String,
    pub(crate) record: String,
    pub(crate) layout: Layout,
    pub(crate) permitted: Permitted,
    pub(crate) tags: Vec<SafetyTag>,
    pub(crate) about: Option<String>,
    pub(crate) source: String,
    /// Whether the documents also say how it is written.
    pub(crate) alterable: bool,
}

/// A record of a draft.
#[derive(Debug, Clone)]
pub(crate) struct RecordDraft {
    pub(crate) name: String,
    pub(crate) label: String,
    pub(crate) length: usize,
    pub(crate) place: Place,
    /// Whether the documents say how it is written.
    pub(crate) alterable: bool,
    pub(crate) settings: Vec<SettingDraft>,
}

/// Which modules a definition is for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct ModulesDraft {
    pub(crate) module: String,
    pub(crate) part_number: Vec<String>,
    pub(crate) hardware: Vec<String>,
    /// The first and the last version.
    pub(crate) software: Option<(String, String)>,
}

/// A definition before it is text.
#[derive(Debug, Clone)]
pub(crate) struct Draft {
    pub(crate) id: String,
    pub(crate) title: String,
    pub(crate) source: String,
    pub(crate) modules: ModulesDraft,
    pub(crate) records: Vec<RecordDraft>,
}
