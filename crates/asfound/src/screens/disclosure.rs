//! What `disclose` shows.

use std::path::PathBuf;

use asfound_core::entry::Entry;
use asfound_core::names::Tag;
use asfound_journal::disclosure::{DisclosedEntry, Disclosure, DisclosureFinding, DisclosureRequest};
use asfound_journal::seal::KeptSeal;
use serde_json::{Value, json};
use time::format_description::well_known::Rfc3339;

use super::seal::{entries, seal_json};
use super::shared::counted;
use crate::setup::Screen;
use asfound_report::{Page, Table, date_and_time};

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

/// What an entry of work altered, as bytes and as values.
fn alterations(entry: &Entry) -> Vec<String> {
    let effects = entry.body.work().map(|work| &work.effects);
    let records = effects.into_iter().flat_map(|effects| &effects.records).map(|effect| {
        let found = effect.found.as_ref().map_or_else(|| "?".to_owned(), ToString::to_string);
        format!("{}:{} {found} -> {}", effect.module, effect.record, effect.left)
    });
    let stated = effects.into_iter().flat_map(|effects| &effects.stated).map(|effect| {
        let side = |text: &Option<String>| text.clone().unwrap_or_else(|| "?".to_owned());
        harmless(&format!("{}.{} {} -> {}", effect.module, effect.setting, side(&effect.found), side(&effect.left)))
    });
    records.chain(stated).collect()
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

    /// What the entries say of themselves: who, when, why, and what was altered.
    fn told(&self, page: &mut Page) {
        let mut table = Table::new(["entry", "when", "by", "what"]).figures(0);
        let mut vehicle = None;
        for shown in self.sound() {
            vehicle = vehicle.or_else(|| shown.vehicle());
            let Some(entry) = shown.entry() else { continue };
            let mut what = vec![format!("{}: {}", entry.body.kind(), harmless(entry.why.as_str()))];
            what.extend(alterations(&entry));
            table.row([
                shown.number().to_string(),
                date_and_time(entry.happened),
                harmless(&entry.author.to_string()),
                what.join("\n"),
            ]);
        }
        if let Some(vehicle) = vehicle {
            page.gap();
            page.pair("vehicle", vehicle.tag.as_str());
            vehicle.vin.iter().for_each(|vin| page.pair("VIN", &vin.to_string()));
            vehicle.about.iter().for_each(|about| page.pair("about", &harmless(about)));
        }
        if !table.is_empty() {
            page.gap();
            page.table(&table);
        }
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
        self.told(page);
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
        page.remark("signatures of entries do not come along: they are checked where the journal lies");
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
            let told = entry.entry().filter(|_| sound);
            value["kind"] = json!(told.as_ref().map(|entry| entry.body.kind()));
            value["happened"] = json!(told.as_ref().and_then(|entry| entry.happened.format(&Rfc3339).ok()));
            value["author"] = json!(told.as_ref().map(|entry| entry.author.to_string()));
            value["why"] = json!(told.as_ref().map(|entry| entry.why.as_str()));
            value["altered"] = json!(told.iter().flat_map(alterations).collect::<Vec<_>>());
            value["vehicle"] = json!(
                entry
                    .vehicle()
                    .filter(|_| sound)
                    .map(|vehicle| { json!({ "tag": vehicle.tag, "vin": vehicle.vin, "about": vehicle.about }) })
            );
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
