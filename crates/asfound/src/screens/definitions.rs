//! What `definition` shows.

use std::path::PathBuf;

use asfound_core::definition::{AppliesTo, DefinitionSet};
use asfound_core::document::{Level, Problem};
use asfound_core::names::DefinitionId;
use serde_json::{Value, json};

use super::shared::counted;
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, Table};

/// One examined file.
pub struct CheckedFile {
    /// The file.
    pub path: PathBuf,
    /// What is wrong with it.
    pub problems: Vec<Problem>,
}

/// Examined definition files.
pub struct Checked {
    /// The files.
    pub files: Vec<CheckedFile>,
}

impl Screen for Checked {
    fn text(&self, page: &mut Page) {
        for file in &self.files {
            for problem in &file.problems {
                page.line(&format!("{}: {}: {problem}", file.path.display(), problem.level));
                if let Some(hint) = problem.hint() {
                    page.item(&format!("hint: {hint}"));
                }
            }
        }
        let count = |level: Level| self.files.iter().flat_map(|f| &f.problems).filter(|p| p.level == level).count();
        let (errors, warnings) = (count(Level::Error), count(Level::Warning));
        page.gap();
        page.line(&format!(
            "{}: {}, {}.",
            counted(self.files.len(), "file", "files"),
            counted(errors, "error", "errors"),
            counted(warnings, "warning", "warnings")
        ));
    }

    fn json(&self) -> Value {
        let problem = |problem: &Problem| {
            json!({
                "level": problem.level.to_string(),
                "line": problem.place.map(|place| place.line),
                "column": problem.place.map(|place| place.column),
                "at": problem.at,
                "message": problem.message,
                "hint": problem.hint,
            })
        };
        json!({
            "schema": "asfound/definition-check/1",
            "files": self.files.iter().map(|file| json!({
                "file": file.path,
                "problems": file.problems.iter().map(problem).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })
    }
}

/// Definitions that were taken in.
pub struct Kept {
    /// The folder.
    pub folder: String,
    /// Their names and where they lie.
    pub kept: Vec<(DefinitionId, String)>,
}

impl Screen for Kept {
    fn text(&self, page: &mut Page) {
        page.line(&format!("Kept in {}:", self.folder));
        for (id, _) in &self.kept {
            page.item(id.as_str());
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definitions-kept/1",
            "kept": self.kept.iter().map(|(id, path)| json!({ "id": id, "file": path })).collect::<Vec<_>>(),
        })
    }
}

/// The garage's definitions.
pub struct Listed {
    /// They.
    pub definitions: DefinitionSet,
}

fn conditions(applies: &AppliesTo) -> String {
    let mut parts = Vec::new();
    let list = |patterns: &[asfound_core::definition::Pattern]| {
        patterns.iter().map(|pattern| pattern.as_str()).collect::<Vec<_>>().join(" or ")
    };
    if !applies.part_number().is_empty() {
        parts.push(format!("part {}", list(applies.part_number())));
    }
    if !applies.hardware().is_empty() {
        parts.push(format!("hardware {}", list(applies.hardware())));
    }
    if let Some(range) = applies.software() {
        for (word, end) in [("from", range.from()), ("below", range.below()), ("up to", range.up_to())] {
            if let Some(end) = end {
                parts.push(format!("software {word} {end}"));
            }
        }
    }
    if parts.is_empty() { NOTHING.to_owned() } else { parts.join(", ") }
}

impl Screen for Listed {
    fn text(&self, page: &mut Page) {
        if self.definitions.is_empty() {
            page.line("The garage has no definitions. Take one in with: asfound definition keep FILE");
            return;
        }
        let mut table = Table::new(["definition", "module", "fits", "settings", "title"]).figures(3);
        for definition in self.definitions.iter() {
            table.row([
                definition.id().to_string(),
                definition.module().to_string(),
                conditions(definition.applies_to()),
                definition.settings().len().to_string(),
                definition.title().to_owned(),
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definitions/1",
            "definitions": self.definitions.iter().map(|definition| json!({
                "id": definition.id(),
                "module": definition.module(),
                "fits": conditions(definition.applies_to()),
                "title": definition.title(),
                "settings": definition.settings().len(),
                "records": definition.records().len(),
                "rules": definition.rules().len(),
            })).collect::<Vec<_>>(),
        })
    }
}
