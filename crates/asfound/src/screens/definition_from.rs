//! What `definition from` shows.

use std::path::PathBuf;

use asfound_odx::{ByteValue, LayerDefinition, LayerSummary, Note, Place};
use asfound_report::{NOTHING, Page, Table};
use serde_json::{Value, json};

use super::definitions::KeptScreen;
use super::shared::counted;
use crate::setup::Screen;

/// How many values that stay bytes are shown one by one, and how many notes.
const SHOWN: usize = 20;

/// The layers of a package.
pub struct LayerList {
    /// The package.
    pub file: PathBuf,
    /// They, in the order of the documents.
    pub layers: Vec<LayerSummary>,
    /// Objects that could not be read.
    pub problems: Vec<String>,
}

impl Screen for LayerList {
    fn text(&self, page: &mut Page) {
        let heads = ["number", "layer", "kind", "services", "records", "values", "codes"];
        let mut table = Table::new(heads);
        for column in [0, 3, 4, 5, 6] {
            table = table.figures(column);
        }
        for (at, layer) in self.layers.iter().enumerate() {
            table.row([
                (at + 1).to_string(),
                layer.name.clone(),
                layer.kind.to_string(),
                layer.services.to_string(),
                layer.records.to_string(),
                layer.parameters.to_string(),
                layer.trouble_codes.to_string(),
            ]);
        }
        page.table(&table);
        shown_problems(page, &self.problems);
        page.gap();
        page.line("Make a definition with: asfound definition from FILE --layer NAME");
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definition-layers/1",
            "file": self.file,
            "layers": self.layers.iter().map(|layer| json!({
                "name": layer.name,
                "long_name": layer.long_name,
                "kind": layer.kind.as_str(),
                "document": layer.document.as_ref(),
                "services": layer.services,
                "records": layer.records,
                "values": layer.parameters,
                "trouble_codes": layer.trouble_codes,
            })).collect::<Vec<_>>(),
            "problems": self.problems,
        })
    }
}

/// One layer of which a definition was made.
pub struct LayerOutcome {
    /// The files that were written.
    pub files: Vec<PathBuf>,
    /// What was taken over.
    pub taken: LayerDefinition,
}

/// Definitions that were made.
pub struct ConversionSummary {
    /// By layer.
    pub layers: Vec<LayerOutcome>,
    /// What was taken into the garage.
    pub kept: Option<KeptScreen>,
    /// Objects of the documents that could not be read.
    pub problems: Vec<String>,
}

impl Screen for ConversionSummary {
    fn text(&self, page: &mut Page) {
        for layer in &self.layers {
            let report = &layer.taken.report;
            page.line(&format!("{}: {}.", layer.taken.layer, report.summary()));
            for left in &report.left {
                page.item(&format!("record {} is not in the definition: {} ({})", left.record, left.why, left.place));
            }
            for kept in report.kept.iter().take(SHOWN) {
                page.item(&kept_line(kept));
            }
            more(page, report.kept.len());
            for note in report.notes.iter().take(SHOWN) {
                page.item(&format!("{} ({})", note.text, note.place));
            }
            more(page, report.notes.len());
            for file in &layer.files {
                page.line(&format!("Written: {}", file.display()));
            }
            page.gap();
        }
        let settings: usize = self.layers.iter().map(|layer| layer.taken.report.whole.len()).sum();
        if settings > 0 {
            page.remark("Safety tags are proposed from names: look at them before you rely on them.");
        }
        shown_problems(page, &self.problems);
        if let Some(kept) = &self.kept {
            kept.text(page);
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definitions-from/1",
            "layers": self.layers.iter().map(layer_json).collect::<Vec<_>>(),
            "kept": self.kept.as_ref().map(Screen::json),
            "problems": self.problems,
        })
    }
}

fn kept_line(kept: &ByteValue) -> String {
    let setting = kept.setting.as_deref().unwrap_or(NOTHING);
    format!("{} of {} stays bytes: {}, setting {setting} ({})", kept.path, kept.record, kept.why, kept.place)
}

fn more(page: &mut Page, count: usize) {
    if count > SHOWN {
        page.item(&format!("and {} more", count - SHOWN));
    }
}

fn shown_problems(page: &mut Page, problems: &[String]) {
    if !problems.is_empty() {
        page.gap();
        page.line(&format!("{} could not be read:", counted(problems.len(), "object", "objects")));
        problems.iter().take(SHOWN).for_each(|problem| page.item(problem));
        more(page, problems.len());
    }
}

fn layer_json(layer: &LayerOutcome) -> Value {
    let (taken, report) = (&layer.taken, &layer.taken.report);
    json!({
        "layer": taken.layer,
        "id": taken.id,
        "files": layer.files,
        "records": report.records.len(),
        "whole": report.whole.iter().map(|value| json!({
            "setting": value.setting,
            "record": value.record,
            "path": value.path,
            "alterable": value.alterable,
            "place": place(&value.place),
        })).collect::<Vec<_>>(),
        "bytes": report.kept.iter().map(|value| json!({
            "setting": value.setting,
            "record": value.record,
            "path": value.path,
            "why": value.why.code(),
            "place": place(&value.place),
        })).collect::<Vec<_>>(),
        "left": report.left.iter().map(|left| json!({
            "record": left.record,
            "why": left.why.code(),
            "place": place(&left.place),
        })).collect::<Vec<_>>(),
        "languages": report.languages,
        "other_services": report.other_services,
        "trouble_codes": taken.trouble_codes,
        "notes": report.notes.iter().map(note).collect::<Vec<_>>(),
    })
}

fn note(note: &Note) -> Value {
    json!({ "text": note.text, "place": place(&note.place) })
}

fn place(place: &Place) -> Value {
    json!({ "document": place.document.as_ref(), "line": place.line, "id": place.id })
}
