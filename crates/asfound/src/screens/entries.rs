//! What `entries` shows.

use asfound_core::entry::{Entry, Vehicle};
use asfound_core::history::{Field, LogWrite, Proof, Transition};
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::headline;
use asfound_core::trial::{TrialBuilder, TrialState};
use asfound_journal::sign::AllowedSigners;
use serde_json::{Value, json};

use super::shared::{
    ContentJson, entry_day, entry_json, on_the_wire_json, or_nothing, origin_json, origin_on_the_wire, proof_json,
    proof_on_the_wire, proof_text, trial_json, trial_text,
};
use super::signature::SignatureLine;
use crate::failure::Failure;
use crate::setup::{Screen, Session, SettingLife, TracedJournal};
use asfound_report::{NOTHING, Page, Table, TablePieces};

struct Line {
    entry: Entry,
    headline: String,
    proof: Vec<Proof>,
    trial: Option<TrialState>,
    corrected_by: Vec<EntryNumber>,
    signature: Option<SignatureLine>,
}

/// How many entries the widths of the table's columns follow from; and how many are written at once.
const PIECE: usize = 500;

/// A vehicle's entries, which are written as they are read: there may be very many.
pub struct EntriesScreen<'k> {
    known: &'k TracedJournal,
    vehicle: Vehicle,
    trials: TrialBuilder,
}

impl<'k> EntriesScreen<'k> {
    /// The screen for them.
    ///
    /// # Errors
    /// When an entry or the vehicle's own file cannot be read.
    pub fn new(known: &'k TracedJournal) -> Result<Self, Failure> {
        let (vehicle, trials) = (known.journal().vehicle()?, known.trials(None)?);
        Ok(Self { known, vehicle, trials })
    }

    /// Writes them.
    ///
    /// # Errors
    /// When an entry cannot be read, or standard output cannot be written.
    pub fn write(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        if session.json { self.write_json(session) } else { self.write_text(session) }
    }

    /// Hands over each entry; with what its signature is worth, where there are keys to hold it against.
    fn lines(
        &self,
        keys: Option<&AllowedSigners>,
        each: &mut dyn FnMut(Line) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let journal = self.known.journal();
        let history = &self.known.history;
        let trials = self.trials.with(history);
        for filed in journal.each(&self.known.index) {
            let filed = filed?;
            let number = filed.entry.number;
            let mut proof: Vec<Proof> =
                history.transitions_of(number).filter_map(|(field, _)| history.proof(field, number)).collect();
            proof.sort();
            proof.dedup();
            let signature = keys.map(|keys| SignatureLine::new(self.known, &filed, keys)).transpose()?;
            each(Line {
                headline: headline(history, &filed.entry),
                proof,
                trial: trials.of(number),
                corrected_by: history.corrections_of(number).to_vec(),
                entry: filed.entry,
                signature,
            })?;
        }
        Ok(())
    }

    fn write_text(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        let mut page = session.page();
        let vin = self.vehicle.vin.as_ref().map(|vin| format!("VIN {vin}")).unwrap_or_default();
        page.head(&[self.known.tag.as_str(), &vin, self.vehicle.about.as_deref().unwrap_or_default()]);
        let mut first = Some((page, Table::new(["entry", "date", "what", "proven"]).figures(0).at_least(1, 13)));
        let mut pieces = None;
        let mut waiting = 0;
        let last = self.known.last();
        self.lines(None, &mut |line| {
            waiting += 1;
            let (number, row) = (line.entry.number, row(&line));
            match (&mut first, &mut pieces) {
                (Some((_, table)), _) => table.row(row),
                (None, Some(pieces)) => TablePieces::row(pieces, row),
                (None, None) => {}
            }
            if waiting < PIECE && number != last {
                return Ok(());
            }
            waiting = 0;
            match (first.take(), &mut pieces) {
                // What fits in one piece is laid out as a whole.
                (Some((mut page, table)), _) if number == last => {
                    page.table(&table);
                    session.write(&page.into_text())
                }
                (Some((mut page, table)), _) => {
                    pieces = Some(page.table_in_pieces(table.at_least(0, digits(last))));
                    session.write(&page.into_text())
                }
                (None, Some(pieces)) => session.write(&pieces.text()),
                (None, None) => Ok(()),
            }
        })
    }

    fn write_json(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        let keys = self.known.garage.allowed_signers()?;
        let frame = json!({
            "schema": "asfound/entries/1",
            "vehicle": self.known.tag,
            "vin": self.vehicle.vin,
            "entries": [],
        });
        session.write_list(&frame, "entries", &mut |item| self.lines(Some(&keys), &mut |line| item(&in_json(&line))))
    }
}

/// The width of the longest number, with the space behind it.
fn digits(last: EntryNumber) -> u16 {
    u16::try_from(last.to_string().len()).unwrap_or(u16::MAX).saturating_add(2)
}

fn row(line: &Line) -> [String; 4] {
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
    [line.entry.number.to_string(), entry_day(&line.entry), format!("{}{why}", line.headline), proven]
}

fn in_json(line: &Line) -> Value {
    let mut entry = entry_json(&line.entry, &line.headline);
    entry["proof"] = line.proof.iter().map(|proof| proof_json(*proof)).collect();
    entry["trial"] = trial_json(line.trial.as_ref());
    entry["corrected_by"] = json!(line.corrected_by);
    entry["signature"] = line.signature.as_ref().map_or(Value::Null, SignatureLine::json);
    entry
}

/// The life of one setting.
pub struct LifeScreen {
    tag: Tag,
    field: Field,
    label: Option<String>,
    steps: Vec<(Entry, Transition, Option<Proof>, Option<LogWrite>)>,
}

impl LifeScreen {
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

impl Screen for LifeScreen {
    fn text(&self, page: &mut Page) {
        page.head(&[self.tag.as_str(), &self.field.to_string(), self.label.as_deref().unwrap_or_default()]);
        let mut table = Table::new(["entry", "date", "as found", "as left", "by", "proven"]).figures(0).at_least(1, 13);
        for (entry, step, proof, wire) in &self.steps {
            table.row([
                entry.number.to_string(),
                entry_day(entry),
                or_nothing(step.found.as_ref()),
                step.left.to_string(),
                match step.origin {
                    asfound_core::history::Origin::Work => {
                        format!("{}, {} ({})", entry.body.kind(), entry.author.name(), entry.why)
                    }
                    origin => origin_on_the_wire(origin, wire.as_ref(), entry.happened.offset()),
                },
                proof.map_or_else(|| NOTHING.to_owned(), |proof| proof_on_the_wire(proof, wire.as_ref())),
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
