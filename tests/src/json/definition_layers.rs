//! `asfound/definition-layers/1`: what `definition from` answers without a layer.

use serde::{Deserialize, Serialize};

use super::Answer;

/// The layers of an ODX document or package.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefinitionLayers {
    /// The schema.
    pub schema: String,
    /// The file's path.
    pub file: String,
    /// The layers, in the order of the documents.
    pub layers: Vec<LayerLine>,
    /// Objects that could not be read, in words.
    pub problems: Vec<String>,
}

/// One of them, with all that it inherits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayerLine {
    /// Its short name.
    pub name: String,
    /// Its long name.
    pub long_name: Option<String>,
    /// `shared data`, `protocol`, `functional group`, `base variant` or `ECU variant`.
    pub kind: String,
    /// The document that it stands in.
    pub document: String,
    /// How many services.
    pub services: usize,
    /// How many records these read or write.
    pub records: usize,
    /// How many values are in these records.
    pub values: usize,
    /// How many trouble codes the layer itself has.
    pub trouble_codes: usize,
}

impl Answer for DefinitionLayers {
    const SCHEMA: &'static str = "asfound/definition-layers/1";
}
