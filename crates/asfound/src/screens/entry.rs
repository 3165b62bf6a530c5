//! What `entry` shows.

use asfound_core::entry::{Body, Entry, PutBackOf};
use asfound_core::history::{Field, LogWrite, Origin, Proof, Transition};
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::headline;
use asfound_core::situation::Situation;
use asfound_journal::Digest;
use asfound_journal::journal::FiledEntry;
use serde_json::{Value, json};

use super::codes_in_full::codes_in_full;
use super::corrected::{CorrectedLine, corrected_json, corrected_lines, corrected_text};
use super::guided_run::steps_text;
use super::log_entries::witness_text;
use super::order::later_terms_text;
use super::reading_filed::{IdentityLine, covers, identities};
use super::shared::{
    ContentJson, counted, entry_json, entry_when, on_the_wire_json, or_nothing, origin_json, origin_on_the_wire,
    proof_json, proof_on_the_wire, side_by_side,
};
use super::signature::SignatureLine;
use crate::failure::Failure;
use crate::setup::{Descriptions, Screen, TracedJournal};
use asfound_report::{Page, Table, date_and_time};

/// Whether an entry says that the work in another was never made.
fn is_never_made(body: &Body) -> bool {
    matches!(body, Body::Correction(correction) if correction.never_made)
}

/// One entry in full.
pub struct EntryScreen {
    tag: Tag,
    entry: Entry,
    commit: String,
    headline: String,
    alterations: Vec<(Field, Transition, Option<Proof>, Option<LogWrite>)>,
    first_known: usize,
    evidence: Vec<(String, usize, Digest)>,
    corrected_by: Vec<(EntryNumber, bool)>,
    never_made: bool,
    words: Option<String>,
    /// What the entry said when it was filed, where a correction says otherwise.
    as_filed: Vec<(Field, Transition)>,
    /// What this entry corrects, where it is a correction.
    corrects: Vec<CorrectedLine>,
    signature: SignatureLine,
    descriptions: Descriptions,
}

impl EntryScreen {
    /// The screen for it.
    ///
    /// # Errors
    /// When the journal as it was before a correction cannot be told.
    /// When the entry's signature, or the list of trusted keys, cannot be read.
    pub fn new(known: &TracedJournal, filed: &FiledEntry, evidence: &[(String, Vec<u8>)]) -> Result<Self, Failure> {
        let number = filed.entry.number;
        let history = &known.history;
        let (first, altered): (Vec<_>, Vec<_>) =
            history.transitions_of(number).partition(|(_, step)| step.origin == Origin::FirstKnown);
        let altered = altered.into_iter().map(|(field, step)| {
            let wire = history.on_the_wire(field, number).cloned();
            (field.clone(), step.clone(), history.proof(field, number), wire)
        });
        let corrected_by: Vec<(EntryNumber, bool)> = history
            .corrections_of(number)
            .iter()
            .map(|by| (*by, known.entry(*by).is_ok_and(|by| is_never_made(&by.entry.body))))
            .collect();
        let as_filed = if corrected_by.is_empty() {
            Vec::new()
        } else {
            let then = known.history_at(number)?;
            let steps = then.transitions_of(number).filter(|(field, step)| {
                let now = history.transitions_of(number).find(|(other, _)| other == field);
                now.is_none_or(|(_, now)| (&now.found, &now.left) != (&step.found, &step.left))
            });
            steps.map(|(field, step)| (field.clone(), step.clone())).collect()
        };
        let corrects = match (&filed.entry.body, EntryNumber::new(number.get() - 1)) {
            (Body::Correction(correction), Some(before)) => {
                corrected_lines(&known.history_at(before)?, &known.history_at(number)?, correction.corrects)
            }
            _ => Vec::new(),
        };
        let signature = SignatureLine::new(known, filed, &known.garage.allowed_signers()?)?;
        Ok(Self {
            tag: known.tag.clone(),
            entry: filed.entry.clone(),
            commit: filed.commit.to_string(),
            headline: headline(history, &filed.entry),
            alterations: altered.collect(),
            first_known: first.len(),
            evidence: evidence.iter().map(|(name, bytes)| (name.clone(), bytes.len(), Digest::of(bytes))).collect(),
            corrected_by,
            never_made: history.never_made(number),
            words: history.corrected_words(number).map(ToString::to_string),
            as_filed,
            corrects,
            signature,
            descriptions: Descriptions::open(&known.garage)?,
        })
    }

    fn body_text(&self, page: &mut Page) {
        match &self.entry.body {
            Body::Enrolled(vehicle) => {
                page.pair("VIN", &or_nothing(vehicle.vin.as_ref()));
                page.pair("about", &or_nothing(vehicle.about.as_ref()));
            }
            Body::Reading(reading) => {
                page.pair("role", &reading.role.to_string());
                page.pair("covers", &covers(reading));
                page.pair("odometer", &or_nothing(reading.odometer_km.map(|km| format!("{km} km")).as_ref()));
                let volts = reading.supply_voltage.as_ref().map(|volts| format!("{volts} V"));
                page.pair("supply voltage", &or_nothing(volts.as_ref()));
                page.pair("taken with", &or_nothing(reading.tool.as_ref()));
                page.pair("taken by", &or_nothing(reading.by.as_ref()));
                situation_text(page, &reading.situation);
            }
            Body::PutBack(PutBackOf::Entries(entries), _) => {
                let list: Vec<String> = entries.iter().map(ToString::to_string).collect();
                page.pair("takes back", &format!("entry {}", list.join(", ")));
            }
            Body::PutBack(PutBackOf::ReturnTo(entry), _) => page.pair("returns to", &format!("entry {entry}")),
            Body::Correction(correction) => {
                page.pair("corrects", &format!("entry {}", correction.corrects));
                if correction.never_made {
                    page.pair("says", "the work in it was never made");
                }
                for (path, value) in &correction.was {
                    page.pair("as found", &format!("{path} was {value}"));
                }
            }
            Body::Note(about) => page.pair("about", &or_nothing(about.map(|entry| format!("entry {entry}")).as_ref())),
            Body::OrderOpened(terms) | Body::OrderExtended(terms) => {
                page.pair("order", &terms.number.to_string());
                page.pair("consent", terms.consent.as_str());
                if let Some(estimate) = &terms.estimate {
                    page.pair("estimate", estimate.as_str());
                }
                let mut label = "authorised";
                for item in &terms.authorised {
                    page.pair(label, &item.to_string());
                    label = "";
                }
                later_terms_text(page, terms);
            }
            Body::OrderClosed(number) => page.pair("order", &number.to_string()),
            Body::Witness(_) => witness_text(page, self.entry.recorded.offset(), &self.entry.body),
            Body::Change(_) => {}
        }
        if let Some(work) = self.entry.body.work() {
            for acknowledged in &work.acknowledgements {
                let (tag, name, grounds) = (acknowledged.tag, &acknowledged.name, &acknowledged.grounds);
                page.pair("acknowledged", &format!("{tag}, by {name}: {grounds}"));
            }
            if work.one_way {
                page.pair("one-way", "what was there before is not known");
            }
        }
    }
}

impl Screen for EntryScreen {
    fn text(&self, page: &mut Page) {
        let number = format!("entry {}", self.entry.number);
        page.head(&[self.tag.as_str(), &number, self.entry.body.kind(), &entry_when(&self.entry)]);
        page.pair("why", self.entry.why.as_str());
        if let Some(words) = &self.words {
            page.pair("", &format!("corrected: {words}"));
        }
        page.pair("by", self.entry.author.name());
        page.pair("filed", &date_and_time(self.entry.recorded));
        if let Some(signature) = self.signature.text() {
            page.pair("signature", &signature);
        }
        self.body_text(page);
        for (correction, never_made) in &self.corrected_by {
            let what = if *never_made { "never made" } else { "corrected" };
            page.pair("note well", &format!("{what}, says entry {correction}"));
        }
        if let Body::Reading(reading) = &self.entry.body {
            let lines = identities(reading);
            if !lines.is_empty() {
                page.part("Modules that are not what they were");
                lines.iter().for_each(|line| page.item(&line.to_string()));
            }
        }
        if let Body::Reading(reading) = &self.entry.body {
            codes_in_full(page, reading, &self.descriptions);
        }
        corrected_text(page, &self.corrects);
        if !self.alterations.is_empty() {
            let mut table = Table::new(["setting", "as found", "as left", "proven"]);
            for (field, step, proof, wire) in &self.alterations {
                let [found, left] = side_by_side(step.found.as_ref(), Some(&step.left));
                let offset = self.entry.happened.offset();
                let proven = proof.map_or_else(
                    || origin_on_the_wire(step.origin, wire.as_ref(), offset),
                    |proof| proof_on_the_wire(proof, wire.as_ref()),
                );
                table.row([field.altered(step.found.as_ref(), Some(&step.left)), found, left, proven]);
            }
            page.gap();
            page.table(&table);
        }
        if !self.as_filed.is_empty() {
            let mut table = Table::new(["setting", "as found", "as left"]);
            for (field, step) in &self.as_filed {
                let altered = field.altered(step.found.as_ref(), Some(&step.left));
                table.row([altered, or_nothing(step.found.as_ref()), step.left.to_string()]);
            }
            page.part("What it said when it was filed");
            page.table(&table);
        }
        if let Some(work) = self.entry.body.work().filter(|work| !work.steps.is_empty()) {
            page.part("Steps");
            steps_text(page, work);
        }
        if let Some(effects) = self.entry.body.effects().filter(|_| self.entry.body.work().is_some()) {
            page.part("Bytes");
            for effect in &effects.records {
                page.line(&format!("{} record {}", effect.module, effect.record));
                page.pair("  as found", &or_nothing(effect.found.as_ref()));
                page.pair("  as left", &effect.left.to_string());
            }
            if effects.records.is_empty() {
                page.line("None are known: the settings were set by name.");
            }
        }
        if self.first_known > 0 {
            page.gap();
            page.line(&format!(
                "{} known here for the first time.",
                counted(self.first_known, "setting is", "settings are")
            ));
        }
        if !self.evidence.is_empty() {
            page.part("Attached");
            for (name, size, digest) in &self.evidence {
                page.item(&format!("{name}, {size} bytes, SHA-256 {digest}"));
            }
        }
        page.gap();
        page.pair("commit", &self.commit);
    }

    fn json(&self) -> Value {
        let mut entry = entry_json(&self.entry, &self.headline);
        entry["corrected_by"] = self.corrected_by.iter().map(|(by, _)| json!(by)).collect();
        entry["never_made"] = json!(self.never_made);
        entry["corrected_words"] = json!(self.words);
        entry["signature"] = self.signature.json();
        let reading = match &self.entry.body {
            Body::Reading(reading) => json!({
                "role": reading.role,
                "partial": reading.partial,
                "by": reading.by,
                "tool": reading.tool,
                "odometer_km": reading.odometer_km,
                "supply_voltage": reading.supply_voltage,
                "engine": reading.situation.engine,
                "ignition": reading.situation.ignition,
                "did_not_answer": reading.situation.did_not_answer,
                "covered": reading.covered,
            }),
            _ => Value::Null,
        };
        json!({
            "schema": "asfound/entry/1",
            "vehicle": self.tag,
            "entry": entry,
            "commit": self.commit,
            "alterations": self.alterations.iter().map(|(field, step, proof, wire)| json!({
                "field": field.to_string(),
                "found": step.found.as_ref().map(ContentJson::of),
                "left": ContentJson::of(&step.left),
                "origin": origin_json(step.origin),
                "proof": proof.map(proof_json),
                "on_the_wire": on_the_wire_json(wire.as_ref()),
            })).collect::<Vec<_>>(),
            "as_filed": self.as_filed.iter().map(|(field, step)| json!({
                "field": field.to_string(),
                "found": step.found.as_ref().map(ContentJson::of),
                "left": ContentJson::of(&step.left),
            })).collect::<Vec<_>>(),
            "corrects": corrected_json(&self.corrects),
            "identities": match &self.entry.body {
                Body::Reading(reading) => identities(reading).iter().map(IdentityLine::json).collect(),
                _ => Vec::new(),
            },
            "effects": self.entry.body.effects(),
            "reading": reading,
            "acknowledgements": self.entry.body.work().map(|work| &work.acknowledgements),
            "plan": self.entry.body.work().and_then(|work| work.plan.as_ref()),
            "witness": match &self.entry.body {
                Body::Witness(witness) => json!(witness),
                _ => Value::Null,
            },
            "run": self.entry.body.work().and_then(|work| work.run),
            "steps": self.entry.body.work().map(|work| &work.steps),
            "first_known": self.first_known,
            "evidence": self.evidence.iter()
                .map(|(name, size, digest)| json!({ "name": name, "bytes": size, "sha256": digest }))
                .collect::<Vec<_>>(),
        })
    }
}

/// The situation in which a reading was taken, where it tells anything.
fn situation_text(page: &mut Page, situation: &Situation) {
    if let Some(engine) = situation.engine {
        page.pair("engine", &engine.to_string());
    }
    if let Some(ignition) = situation.ignition {
        page.pair("ignition", &ignition.to_string());
    }
    if !situation.did_not_answer.is_empty() {
        let names: Vec<&str> = situation.did_not_answer.iter().map(|module| module.as_str()).collect();
        page.pair("no answer", &names.join(", "));
    }
}
