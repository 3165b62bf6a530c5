//! What `trial` shows.

use std::collections::BTreeSet;

use asfound_core::entry::Entry;
use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::plan::{HeadlineParts, headline};
use asfound_core::trial::{NewCode, TrialBlocker, TrialBuilder, TrialState};
use serde_json::{Value, json};
use time::OffsetDateTime;

use super::shared::{counted, entry_json, trial_json};
use crate::failure::Failure;
use crate::setup::{Session, TracedJournal};
use asfound_report::{Table, short_date};

struct Line {
    entry: Entry,
    headline: String,
    state: TrialState,
}

/// The trials of a vehicle: those that are open, or all. There may be very many, so that each line is made as it is written.
pub struct TrialSheet<'k> {
    known: &'k TracedJournal,
    trials: TrialBuilder,
    all: bool,
    open: usize,
    /// The modules that some open trial waits for.
    needed: BTreeSet<ModuleName>,
}

impl<'k> TrialSheet<'k> {
    /// The screen for them.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn new(known: &'k TracedJournal, all: bool) -> Result<Self, Failure> {
        let trials = known.trials(None)?;
        let (mut open, mut needed) = (0, BTreeSet::new());
        for trial in trials.with(&known.history).all() {
            if let TrialState::Open(waiting) = &trial.state {
                open += 1;
                let new = waiting.modules().into_iter().filter(|module| !needed.contains(*module));
                let new: Vec<ModuleName> = new.cloned().collect();
                needed.extend(new);
            }
        }
        Ok(Self { known, trials, all, open, needed })
    }

    /// Writes them.
    ///
    /// # Errors
    /// When an entry cannot be read, or standard output cannot be written.
    pub fn write(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        if session.json { self.write_json(session) } else { self.write_text(session) }
    }

    /// Hands over each trial that is shown.
    fn lines(&self, each: &mut dyn FnMut(Line) -> Result<(), Failure>) -> Result<(), Failure> {
        let history = &self.known.history;
        let trials = self.trials.with(history);
        for filed in self.known.journal().each(&self.known.index) {
            let entry = filed?.entry;
            let Some(state) = trials.of(entry.number).filter(|state| self.all || state.is_open()) else { continue };
            each(Line { headline: headline(history, &entry), entry, state })?;
        }
        Ok(())
    }

    fn write_text(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        let history = &self.known.history;
        let trials = self.trials.with(history);
        let is_shown = |entry: EntryNumber| trials.of(entry).is_some_and(|state| self.all || state.is_open());
        let shown: Vec<(EntryNumber, OffsetDateTime)> = trials.work().filter(|(entry, _)| is_shown(*entry)).collect();
        let mut gists = Vec::with_capacity(shown.len());
        for filed in self.known.journal().each(&self.known.index) {
            let entry = filed?.entry;
            if shown.get(gists.len()).is_some_and(|(number, _)| *number == entry.number) {
                gists.push(HeadlineParts::of(history, &entry));
            }
        }
        session.show_text(&mut |page| {
            page.head(&[self.known.tag.as_str(), "trials", &counted(self.open, "open", "open")]);
            if shown.is_empty() {
                page.line(if self.all { "No work is recorded." } else { "No work is on trial." });
                return;
            }
            let table = Table::new(["entry", "date", "what", "trial"]).figures(0).at_least(1, 13);
            page.table_of(&table, shown.len(), &|at| {
                let (entry, happened) = shown[at];
                let stands = trials.of(entry).as_ref().map(stands).unwrap_or_default();
                vec![entry.to_string(), short_date(happened), gists[at].headline(history, entry), stands]
            });
            if !self.needed.is_empty() {
                page.gap();
                page.line(
                    "Drive the vehicle, then read the settings of these modules and scan them for trouble codes:",
                );
                page.item(&list(&self.needed));
                page.line(&format!("Then: asfound read {} FILE", self.known.tag));
            }
        })
    }

    fn write_json(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        let frame = json!({
            "schema": "asfound/trial/1",
            "vehicle": self.known.tag,
            "open": self.open,
            "modules_needed": self.needed,
            "trials": [],
        });
        session.write_list(&frame, "trials", &mut |item| self.lines(&mut |line| item(&in_json(&line))))
    }
}

fn list<'m>(modules: impl IntoIterator<Item = &'m ModuleName>) -> String {
    modules.into_iter().map(|module| module.as_str()).collect::<Vec<_>>().join(", ")
}

/// What a trial waits for, in words.
fn waits_for(waiting: &TrialBlocker) -> String {
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

fn in_json(line: &Line) -> Value {
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
}
