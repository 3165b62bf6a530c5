//! `asfound/definitions-from/1`: what `definition from` answers with a layer.

use serde::{Deserialize, Serialize};

use super::{Answer, DefinitionsKept};

/// Definitions that were made of layers of an ODX document or package.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionsFrom {
    /// The schema.
    pub schema: String,
    /// By layer, in the order in which they were named.
    pub layers: Vec<LayerTaken>,
    /// What was taken into the garage, as `definition keep` answers; nothing without `--keep`.
    pub kept: Option<DefinitionsKept>,
    /// Objects that could not be read, in words.
    pub problems: Vec<String>,
}

/// One layer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayerTaken {
    /// Its short name.
    pub layer: String,
    /// The definition's name.
    pub id: String,
    /// The files that were written.
    pub files: Vec<String>,
    /// How many records the definition names.
    pub records: usize,
    /// Values that were taken over whole, in the order of the records.
    pub whole: Vec<ValueWhole>,
    /// Values that stay bytes, in the order of the records.
    pub bytes: Vec<ValueAsBytes>,
    /// Records that the definition does not name.
    pub left: Vec<RecordLeft>,
    /// The languages of the labels, as the documents say: `de-DE`.
    pub languages: Vec<String>,
    /// How many services read or write no record.
    pub other_services: usize,
    /// How many trouble codes have a description.
    pub trouble_codes: usize,
    /// What else there is to say.
    pub notes: Vec<DocumentNote>,
}

/// A value that was taken over whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValueWhole {
    /// Its setting, by its name within the module.
    pub setting: String,
    /// Its record.
    pub record: String,
    /// The short names of the parameter and of what it stands in, with dots.
    pub path: String,
    /// Whether the documents also say how it is written.
    pub alterable: bool,
    /// The parameter's place.
    pub place: DocumentPlace,
}

/// A value that stays bytes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValueAsBytes {
    /// The setting that holds its bytes; nothing where its bits stay undeclared.
    pub setting: Option<String>,
    /// Its record.
    pub record: String,
    /// The short names of the parameter and of what it stands in, with dots.
    pub path: String,
    /// Why, by a name of odx.md.
    pub why: String,
    /// The parameter's place.
    pub place: DocumentPlace,
}

/// A record that the definition does not name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordLeft {
    /// The record.
    pub record: String,
    /// Why, by a name of odx.md.
    pub why: String,
    /// The service's place.
    pub place: DocumentPlace,
}

/// Something else that a person should know.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DocumentNote {
    /// What there is to say.
    pub text: String,
    /// What it is about.
    pub place: DocumentPlace,
}

/// A place in a document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DocumentPlace {
    /// The document's file name, as in its package.
    pub document: String,
    /// The line, from 1.
    pub line: usize,
    /// The identifier of the object, where it has one.
    pub id: Option<String>,
}

impl Answer for DefinitionsFrom {
    const SCHEMA: &'static str = "asfound/definitions-from/1";
}
