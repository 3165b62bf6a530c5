//! What `disclose` shows.

use std::path::PathBuf;

use asfound_core::names::Tag;
use asfound_journal::disclosure::{DisclosedEntry, Disclosure, DisclosureFinding, DisclosureRequest};
use asfound_journal::seal::KeptSeal;
use serde_json::{Value, json};

use super::seal::{entries, seal_json};
use super::shared::counted;
use crate::setup::Screen;
use asfound_report::{Page, Table};

/// A disclosure that was written.
pub struct DisclosureScreen {
    /// The vehicle.
    pub tag: Tag,
    /// The disclosure.
    pub disclosure: Disclosure,
    /// What was picked.
    pub pick: DisclosureRequest,
    /// Where it is.
    pub file: PathBuf,
    /// How long it is.
    pub bytes: usize,
}

/// The files that are shown, one below the other as far as the column goes.
fn files(entry: &DisclosedEntry) -> String {
    let names: Vec<&str> = entry.files().iter().map(|file| file.path().as_str()).collect();
    names.join(", ")
}

fn table_of_files(disclosure: &Disclosure) -> Table {
    let mut table = Table::new(["entry", "shown", "hidden"]).figures(0).at_least(2, 10);
    for entry in disclosure.entries() {
        let hidden = counted(entry.hidden(), "file", "files");
        table.row([entry.number().to_string(), files(entry), hidden]);
    }
    table
}

fn entry_json(entry: &DisclosedEntry) -> Value {
    json!({
        "number": entry.number(),
        "shown": entry.files().iter().map(|file| file.path().as_str()).collect::<Vec<_>>(),
        "hidden": entry.hidden(),
    })
}

impl Screen for DisclosureScreen {
    fn text(&self, page: &mut Page) {
        let seal = self.disclosure.seal();
        let count = counted(self.disclosure.entries().len(), "entry", "entries");
        page.head(&[self.tag.as_str(), &format!("{count} disclosed"), &format!("seal over {}", entries(seal.entries))]);
        page.table(&table_of_files(&self.disclosure));
        page.gap();
        page.pair("file", &format!("{}, {} bytes", self.file.display(), self.bytes));
        page.pair("seal", &seal.short().to_string());
        page.gap();
        if !self.pick.settings_only {
            page.caution(
                "entry.toml names author and reason, and tells what was found and altered in every module. \
                 --settings-only leaves it out.",
            );
        }
        if self.pick.vehicle {
            page.caution("vehicle.toml tells tag, VIN and description; a description may name a person.");
        }
        page.remark(
            "the file also tells how many entries the journal has and how many files each of these. Look through it \
             before you hand it over: it is text.",
        );
        page.gap();
        page.line("Whoever receives it should have the seal from elsewhere, and checks with");
        page.verbatim("asfound audit FILE --seal SEAL");
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/disclosed/1",
            "vehicle": self.tag,
            "seal": seal_json(self.disclosure.seal()),
            "entries": self.disclosure.entries().iter().map(entry_json).collect::<Vec<_>>(),
            "file": self.file,
            "bytes": self.bytes,
        })
    }
}

/// A disclosure that was checked.
pub struct DisclosureChecked {
    /// The file.
    pub file: PathBuf,
    /// The disclosure.
    pub disclosure: Disclosure,
    /// The seal that was kept.
    pub kept: Option<KeptSeal>,
    /// What speaks against it.
    pub findings: Vec<DisclosureFinding>,
}

/// Text from a file of somebody else's, without signs that could steer a terminal.
fn harmless(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{FFFD}' } else { c }).collect()
}

impl DisclosureChecked {
    /// The entries of which all that is shown is as it was sealed.
    fn sound(&self) -> impl Iterator<Item = &DisclosedEntry> {
        let spoken_against =
            |entry: &&DisclosedEntry| self.findings.iter().any(|finding| finding.entry() == Some(entry.number()));
        self.disclosure.entries().iter().filter(move |entry| !spoken_against(entry))
    }

    fn settings(&self, page: &mut Page) {
        let mut table = Table::new(["entry", "setting", "value"]).figures(0);
        for entry in self.sound() {
            for told in entry.settings() {
                let value = harmless(&told.value);
                let value = if told.by_value_alone { format!("{value} (no bytes)") } else { value };
                table.row([entry.number().to_string(), harmless(&format!("{}.{}", told.module, told.setting)), value]);
            }
        }
        if !table.is_empty() {
            page.gap();
            page.table(&table);
        }
    }
}

impl Screen for DisclosureChecked {
    fn text(&self, page: &mut Page) {
        let seal = self.disclosure.seal();
        page.head(&[&self.file.display().to_string(), "disclosure", &format!("seal over {}", entries(seal.entries))]);
        page.table(&table_of_files(&self.disclosure));
        self.settings(page);
        page.gap();
        page.pair("seal", &seal.short().to_string());
        page.gap();
        for finding in &self.findings {
            page.alarm(&finding.to_string());
            if let Some(hint) = finding.hint() {
                page.line(&hint);
            }
        }
        match (&self.kept, self.findings.is_empty()) {
            (_, false) => {}
            (Some(_), true) => {
                page.line("Everything shown is as it was sealed, and the seal is the one that was kept.");
            }
            (None, true) => {
                page.line("Everything shown is as it was sealed by the seal in the file.");
                page.remark("compare that seal with one that you have from elsewhere, or give it with --seal");
            }
        }
    }

    fn json(&self) -> Value {
        let settings = |entry: &DisclosedEntry| {
            let setting = |told: asfound_journal::disclosure::DisclosedSetting| {
                json!({
                    "module": told.module,
                    "setting": told.setting,
                    "value": told.value,
                    "by_value_alone": told.by_value_alone,
                })
            };
            entry.settings().into_iter().map(setting).collect::<Vec<_>>()
        };
        let entries = self.disclosure.entries().iter().map(|entry| {
            let mut value = entry_json(entry);
            let sound = self.sound().any(|other| other.number() == entry.number());
            value["sound"] = json!(sound);
            value["settings"] = json!(if sound { settings(entry) } else { Vec::new() });
            value
        });
        json!({
            "schema": "asfound/disclosure-check/1",
            "file": self.file,
            "seal": seal_json(self.disclosure.seal()),
            "kept": self.kept.map(|kept| kept.to_string()),
            "holds": self.findings.is_empty(),
            "entries": entries.collect::<Vec<_>>(),
            "findings": self.findings.iter().map(|finding| json!({
                "kind": finding.kind(),
                "entry": finding.entry(),
                "message": finding.to_string(),
            })).collect::<Vec<_>>(),
        })
    }
}
