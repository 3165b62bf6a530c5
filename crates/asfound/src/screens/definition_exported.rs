//! What `definition export` shows.

use std::path::PathBuf;

use asfound_core::names::DefinitionId;
use asfound_report::Page;
use serde_json::{Value, json};

use crate::setup::Screen;

/// A definition that was written as a document.
pub struct ExportSummary {
    /// The definition.
    pub id: DefinitionId,
    /// The document.
    pub file: PathBuf,
    /// What the document has no place for.
    pub left: Vec<String>,
}

impl Screen for ExportSummary {
    fn text(&self, page: &mut Page) {
        page.line(&format!("Written: {}, with the records and settings of {}.", self.file.display(), self.id));
        page.line("The document has no place for:");
        self.left.iter().for_each(|left| page.item(left));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definition-exported/1",
            "id": self.id,
            "file": self.file,
            "left": self.left,
        })
    }
}
