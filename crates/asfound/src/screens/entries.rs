//! What `entries` shows.

use asfound_core::entry::{Entry, Vehicle};
use asfound_core::history::{Field, OnTheWire, Proof, Transition};
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::headline;
use asfound_core::trial::TrialState;
use serde_json::{Value, json};

use super::shared::{
    ContentJson, entry_json, on_the_wire_json, or_nothing, origin_json, origin_on_the_wire, proof_json, proof_text,
    trial_json, trial_text,
};
use super::signature::Signature;
use crate::failure::Failure;
use crate::setup::{Known, Screen, SettingLife};
use asfound_report::{NOTHING, Page, Table, short_date};

struct Line {
    entry: Entry,
    headline: String,
    proof: Vec<Proof>,
    trial: Option<TrialState>,
    corrected_by: Vec<EntryNumber>,
    signature: Option<Signature>,
}

/// A vehicle's entries.
pub struct Entries {
    tag: Tag,
    vehicle: Vehicle,
    lines: Vec<Line>,
}

impl Entries {
    /// The screen for them.
    ///
    /// # Errors
    /// When the vehicle's own file cannot be read, or the signatures are asked for and cannot be.
    pub fn new(known: &Known, signatures: bool) -> Result<Self, Failure> {
        let history = &known.history;
        let allowed = if signatures { Some(known.garage.allowed_signers()?) } else { None };
        let mut trials = known.trials();
        let lines = known.entries.iter().map(|filed| {
            let entry = filed.entry.clone();
            let mut proof: Vec<Proof> = history
                .transitions_of(entry.number)
                .filter_map(|(field, _)| history.proof(field, entry.number))
                .collect();
            proof.sort();
            proof.dedup();
            let signature = allowed.as_ref().map(|allowed| Signature::new(known, filed, allowed)).transpose()?;
            Ok(Line {
                headline: headline(history, &entry),
                proof,
                trial: trials.remove(&entry.number),
                corrected_by: history.corrections_of(entry.number).to_vec(),
                entry,
                signature,
            })
        });
        let lines = lines.collect::<Result<_, Failure>>()?;
        Ok(Self { tag: known.tag.clone(), vehicle: known.journal().vehicle()?, lines })
    }
}

impl Screen for Entries {
    fn text(&self, page: &mut Page) {
        let vin = self.vehicle.vin.as_ref().map(|vin| format!("VIN {vin}")).unwrap_or_default();
        page.head(&[self.tag.as_str(), &vin, self.vehicle.about.as_deref().unwrap_or_default()]);
        let mut table = Table::new(["entry", "date", "what", "proven"]).figures(0).at_least(1, 13);
        for line in &self.lines {
            let proven = line.proof.iter().map(|proof| proof_text(*proof));
            let proven: Vec<String> = proven.chain(line.trial.as_ref().and_then(trial_text)).collect();
            let mut proven = if proven.is_empty() { NOTHING.to_owned() } else { proven.join("; ") };
            for correction in &line.corrected_by {
                proven = format!("corrected, entry {correction}");
            }
            let why = match line.entry.body.kind() {
                "note" => String::new(),
                _ => format!(" ({})", line.entry.why),
            };
            table.row([
                line.entry.number.to_string(),
                short_date(line.entry.happened),
                format!("{}{why}", line.headline),
                proven,
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/entries/1",
            "vehicle": self.tag,
            "vin": self.vehicle.vin,
            "entries": self.lines.iter().map(|line| {
                let mut entry = entry_json(&line.entry, &line.headline);
                entry["proof"] = line.proof.iter().map(|proof| proof_json(*proof)).collect();
                entry["trial"] = trial_json(line.trial.as_ref());
                entry["corrected_by"] = json!(line.corrected_by);
                entry["signature"] = line.signature.as_ref().map_or(Value::Null, Signature::json);
                entry
            }).collect::<Vec<_>>(),
        })
    }
}

/// The life of one setting.
pub struct Life {
    tag: Tag,
    field: Field,
    label: Option<String>,
    steps: Vec<(Entry, Transition, Option<Proof>, Option<OnTheWire>)>,
}

impl Life {
    /// The screen for it.
    pub fn new(tag: &Tag, life: &SettingLife) -> Self {
        let steps = life.timeline().into_iter().flat_map(|timeline| timeline.transitions());
        let steps = steps
            .filter_map(|step| {
                let entry = life.entry(step.entry)?.clone();
                let wire = life.history.on_the_wire(&life.field, step.entry).cloned();
                Some((entry, step.clone(), life.history.proof(&life.field, step.entry), wire))
            })
            .collect();
        let label = life.defined().map(|setting| setting.label().to_owned());
        Self { tag: tag.clone(), field: life.field.clone(), label, steps }
    }
}

impl Screen for Life {
    fn text(&self, page: &mut Page) {
        page.head(&[self.tag.as_str(), &self.field.to_string(), self.label.as_deref().unwrap_or_default()]);
        let mut table = Table::new(["entry", "date", "as found", "as left", "by", "proven"]).figures(0).at_least(1, 13);
        for (entry, step, proof, wire) in &self.steps {
            table.row([
                entry.number.to_string(),
                short_date(entry.happened),
                or_nothing(step.found.as_ref()),
                step.left.to_string(),
                match step.origin {
                    asfound_core::history::Origin::Work => {
                        format!("{}, {} ({})", entry.body.kind(), entry.author.name(), entry.why)
                    }
                    origin => origin_on_the_wire(origin, wire.as_ref(), entry.happened.offset()),
                },
                proof.map_or_else(|| NOTHING.to_owned(), proof_text),
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/life/1",
            "vehicle": self.tag,
            "field": self.field.to_string(),
            "label": self.label,
            "steps": self.steps.iter().map(|(entry, step, proof, wire)| json!({
                "entry": entry.number,
                "kind": entry.body.kind(),
                "happened": super::shared::moment(entry.happened),
                "author": entry.author.name(),
                "why": entry.why.as_str(),
                "found": step.found.as_ref().map(ContentJson::of),
                "left": ContentJson::of(&step.left),
                "origin": origin_json(step.origin),
                "proof": proof.map(proof_json),
                "on_the_wire": on_the_wire_json(wire.as_ref()),
            })).collect::<Vec<_>>(),
        })
    }
}
