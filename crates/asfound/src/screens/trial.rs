//! What `trial` shows.

use std::collections::BTreeSet;

use asfound_core::entry::Entry;
use asfound_core::names::{ModuleName, Tag};
use asfound_core::plan::headline;
use asfound_core::trial::{NewCode, Trial, TrialState, Waiting};
use serde_json::{Value, json};

use super::shared::{counted, entry_json, trial_json};
use crate::failure::Failure;
use crate::setup::{Known, Screen};
use asfound_report::{Page, Table, short_date};

struct Line {
    entry: Entry,
    headline: String,
    state: TrialState,
}

/// The trials of a vehicle.
pub struct TrialSheet {
    tag: Tag,
    lines: Vec<Line>,
    all: bool,
    open: usize,
}

impl TrialSheet {
    /// The screen for them: those that are open, or `all`.
    ///
    /// # Errors
    /// When an entry cannot be found again.
    pub fn new(known: &Known, all: bool) -> Result<Self, Failure> {
        let trials = known.trials(None)?;
        let (mut open, mut lines) = (0, Vec::new());
        for Trial { entry, state } in trials.with(&known.history).all() {
            open += usize::from(state.is_open());
            if !all && !state.is_open() {
                continue;
            }
            let entry = known.entry(entry)?.entry;
            lines.push(Line { headline: headline(&known.history, &entry), entry, state });
        }
        Ok(Self { tag: known.tag.clone(), lines, all, open })
    }

    /// The modules that some open trial waits for.
    fn needed(&self) -> BTreeSet<&ModuleName> {
        let waiting = self.lines.iter().filter_map(|line| match &line.state {
            TrialState::Open(waiting) => Some(waiting.modules()),
            _ => None,
        });
        waiting.flatten().collect()
    }
}

fn list<'m>(modules: impl IntoIterator<Item = &'m ModuleName>) -> String {
    modules.into_iter().map(|module| module.as_str()).collect::<Vec<_>>().join(", ")
}

/// What a trial waits for, in words.
fn waits_for(waiting: &Waiting) -> String {
    let both: Vec<&ModuleName> = waiting.unread.intersection(&waiting.unscanned).collect();
    let unread: Vec<&ModuleName> = waiting.unread.difference(&waiting.unscanned).collect();
    let unscanned: Vec<&ModuleName> = waiting.unscanned.difference(&waiting.unread).collect();
    let mut parts = Vec::new();
    for (modules, what) in [(both, "read and scan"), (unread, "read"), (unscanned, "scan for codes")] {
        if !modules.is_empty() {
            parts.push(format!("{what} {}", list(modules)));
        }
    }
    for NewCode { module, code, reading, scanned_before } in &waiting.new_codes {
        let age = if *scanned_before { "new" } else { "never scanned before" };
        parts.push(format!("{module} has {code}, {age}, entry {reading}"));
    }
    parts.join("; ")
}

fn stands(state: &TrialState) -> String {
    match state {
        TrialState::Open(waiting) => format!("open: {}", waits_for(waiting)),
        TrialState::Held(reading) => format!("held, entry {reading}"),
        TrialState::NotHeld(reading) => format!("did not hold, entry {reading}"),
        TrialState::TakenOver(work) => format!("taken over by entry {work}"),
    }
}

impl Screen for TrialSheet {
    fn text(&self, page: &mut Page) {
        page.head(&[self.tag.as_str(), "trials", &counted(self.open, "open", "open")]);
        if self.lines.is_empty() {
            page.line(if self.all { "No work is recorded." } else { "No work is on trial." });
            return;
        }
        let mut table = Table::new(["entry", "date", "what", "trial"]).figures(0).at_least(1, 13);
        for line in &self.lines {
            let (number, date) = (line.entry.number.to_string(), short_date(line.entry.happened));
            table.row([number, date, line.headline.clone(), stands(&line.state)]);
        }
        page.table(&table);
        let needed = self.needed();
        if !needed.is_empty() {
            page.gap();
            page.line("Drive the vehicle, then read the settings of these modules and scan them for trouble codes:");
            page.item(&list(needed));
            page.line(&format!("Then: asfound read {} FILE", self.tag));
        }
    }

    fn json(&self) -> Value {
        let line = |line: &Line| {
            let waiting = match &line.state {
                TrialState::Open(waiting) => json!({
                    "unread": waiting.unread,
                    "unscanned": waiting.unscanned,
                    "new_codes": waiting.new_codes.iter().map(|new| json!({
                        "module": new.module,
                        "code": new.code,
                        "reading": new.reading,
                        "scanned_before": new.scanned_before,
                    })).collect::<Vec<_>>(),
                }),
                _ => Value::Null,
            };
            json!({
                "entry": entry_json(&line.entry, &line.headline),
                "trial": trial_json(Some(&line.state)),
                "waiting": waiting,
            })
        };
        json!({
            "schema": "asfound/trial/1",
            "vehicle": self.tag,
            "open": self.open,
            "modules_needed": self.needed(),
            "trials": self.lines.iter().map(line).collect::<Vec<_>>(),
        })
    }
}
