//! What `code-texts` shows.

use asfound_core::trouble_code::TroubleCode;
use serde_json::{Value, json};

use super::shared::counted;
use crate::setup::{Described, LoadedTable, Screen, short_digest};
use asfound_report::{NOTHING, Page, Table};

/// A table that was loaded.
pub struct TableLoaded {
    /// The table.
    pub loaded: LoadedTable,
}

impl Screen for TableLoaded {
    fn text(&self, page: &mut Page) {
        let LoadedTable { name, digest, table } = &self.loaded;
        let codes = counted(table.descriptions.len(), "code", "codes");
        page.line(&format!("Table {name} is kept: {codes}, {}.", short_digest(digest)));
        page.line("What it says is shown as its own word, with its name.");
    }

    fn json(&self) -> Value {
        json!({ "schema": "asfound/descriptions-loaded/1", "table": table_json(&self.loaded) })
    }
}

fn table_json(loaded: &LoadedTable) -> Value {
    json!({
        "name": loaded.name,
        "sha256": loaded.digest,
        "title": loaded.table.title,
        "source": loaded.table.source,
        "codes": loaded.table.descriptions.len(),
    })
}

/// The tables of a garage.
pub struct Tables {
    /// The tables, by name.
    pub tables: Vec<LoadedTable>,
}

impl Screen for Tables {
    fn text(&self, page: &mut Page) {
        if self.tables.is_empty() {
            page.line("No table of descriptions is loaded.");
            page.line("Next: asfound code-texts load FILE");
            return;
        }
        let mut table = Table::new(["table", "codes", "title", "source", "SHA-256"]).figures(1);
        for loaded in &self.tables {
            let or_nothing = |text: &Option<String>| text.clone().unwrap_or_else(|| NOTHING.to_owned());
            table.row([
                loaded.name.clone(),
                loaded.table.descriptions.len().to_string(),
                or_nothing(&loaded.table.title),
                or_nothing(&loaded.table.source),
                format!("{}…", &loaded.digest.to_string()[..12]),
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/descriptions/1",
            "tables": self.tables.iter().map(table_json).collect::<Vec<_>>(),
        })
    }
}

/// What is known of a code without any vehicle.
pub struct CodeDescribed {
    /// The code.
    pub code: TroubleCode,
    /// What a table says of it.
    pub described: Option<Described>,
}

impl Screen for CodeDescribed {
    fn text(&self, page: &mut Page) {
        page.head(&["trouble code", &self.code.to_string()]);
        page.pair("structure", &structure_text(&self.code));
        if let Some(bytes) = self.code.to_bytes() {
            page.pair("bytes", &bytes.to_string());
        }
        if let Some(failure) = self.code.failure_type() {
            page.pair("failure type", &format!("{failure:02X}"));
        }
        let described = self.described.as_ref().map(Described::with_origin);
        page.pair("description", described.as_deref().unwrap_or("no loaded table has it"));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/code-described/1",
            "code": self.code,
            "structure": self.code.structure(),
            "bytes": self.code.to_bytes(),
            "failure_type": self.code.failure_type().map(|failure| format!("{failure:02X}")),
            "description": self.described.as_ref().map(Described::json),
        })
    }
}

/// What the form of a code says.
pub fn structure_text(code: &TroubleCode) -> String {
    code.structure().unwrap_or_else(|| "of another code system: nothing is guessed from it".to_owned())
}
