//! What may have to do with a trouble code.

use std::collections::{BTreeMap, BTreeSet};

use time::OffsetDateTime;

use super::candidates::{Candidate, SuspectKind, came_later, candidates, fields_in_question};
use super::circumstance::circumstance;
use super::narrowing_state::answered_otherwise;
use super::score::{ScoreReason, ScoreScale};
use super::window::CodeArrivals;
use super::{Circumstance, NoSuspects, Window};
use crate::definition::{Definition, DefinitionSet};
use crate::entry::{Body, Entry, Moment};
use crate::examination::{ReadingRemark, implausible};
use crate::history::{Field, History};
use crate::names::{EntryNumber, ModuleName};
use crate::safety::SafetyTag;
use crate::trial::{Scans, TrialBuilder, WorkTime};
use crate::trouble_code::{ReportedCode, TroubleCode, technician_first};

/// An entry that may have to do with a trouble code: it came in the window, which proves nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suspect {
    /// The work, or the reading that shows what nobody recorded.
    pub entry: EntryNumber,
    /// Which of the two.
    pub kind: SuspectKind,
    /// Modules that are another unit or have other software.
    pub renewed: Box<[ModuleName]>,
    /// When it happened.
    pub happened: OffsetDateTime,
    score: u32,
}

impl Suspect {
    /// The sum of its reasons.
    pub fn score(&self) -> u32 {
        self.score
    }
}

/// What may have to do with a trouble code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suspicion {
    /// The code.
    pub code: TroubleCode,
    /// When it came, and in which module.
    pub window: Window,
    /// What is to be looked at before anything is suspected.
    pub circumstance: Option<Circumstance>,
    /// What speaks against the code as it was first read.
    pub implausible: Vec<ReadingRemark>,
    /// Systems for which a technician should look before anything is tried.
    pub care: BTreeSet<SafetyTag>,
    /// The suspects, strongest first; empty when nothing was altered in the window.
    pub suspects: Vec<Suspect>,
    /// From when to when.
    span: (OffsetDateTime, OffsetDateTime),
}

impl Suspicion {
    /// What a suspect altered.
    pub fn fields<'h>(&self, suspect: &Suspect, history: &'h History) -> impl Iterator<Item = &'h Field> {
        fields_in_question(history, &self.window, suspect.kind, suspect.entry)
    }

    /// Why an entry is suspected, largest first. Of a long journal the reasons of all suspects would take much room.
    pub fn reasons(&self, suspect: &Suspect, history: &History, definitions: &DefinitionSet) -> Vec<ScoreReason> {
        let Suspect { entry, kind, happened, .. } = *suspect;
        let mut fields: Vec<&Field> = self.fields(suspect, history).collect();
        fields.dedup();
        let entry = WorkTime { number: entry, happened, moment: Moment::new(entry, happened.into(), happened) };
        let later = came_later(history, &self.window, (entry, kind), self.span.1);
        let candidate = Candidate { entry, kind, fields, renewed: suspect.renewed.clone(), later };
        let scale = ScoreScale {
            module: &self.window.module,
            code: &self.code,
            state: history.state(),
            definitions,
            window: self.span,
        };
        scale.reasons(&candidate)
    }
}

/// Looks for what may have to do with a code. `module` is needed where several modules had it; `trials` have taken in the
/// entries that `history` is traced through.
///
/// # Errors
/// When no reading has the code, or several modules had it and none is named.
pub fn suspects(
    trials: &TrialBuilder,
    history: &History,
    definitions: &DefinitionSet,
    code: &TroubleCode,
    module: Option<&ModuleName>,
) -> Result<Suspicion, NoSuspects> {
    let comings = CodeArrivals::of(&trials.scans(), code, module)?;
    let answered = |window: &Window, coming: (EntryNumber, EntryNumber)| {
        let suspicion = suspicion(trials, history, definitions, code, window.clone());
        answered_otherwise(trials, history, definitions, &suspicion, coming)
    };
    let window = comings.question(history, answered);
    Ok(suspicion(trials, history, definitions, code, window))
}

/// What may have to do with a code that came in a window.
fn suspicion(
    trials: &TrialBuilder,
    history: &History,
    definitions: &DefinitionSet,
    code: &TroubleCode,
    window: Window,
) -> Suspicion {
    let scans = trials.scans();
    let reading = |number: EntryNumber| scans.readings.iter().copied().find(|reading| reading.number == number);
    let first = reading(window.first).expect("the window ends with a scan");
    let after = window.without.and_then(reading).map(|without| without.happened);
    let from = after.or(trials.first().map(|entry| entry.happened)).unwrap_or(first.happened);
    let state = history.state();
    let span = (from, first.happened);
    let scale = ScoreScale { module: &window.module, code, state, definitions, window: span };
    let mut found: Vec<Suspect> = candidates(trials, history, &window, (after, first.happened))
        .map(|candidate| {
            let score = scale.reasons(&candidate).iter().map(|reason| reason.points).sum();
            let Candidate { entry: WorkTime { number, happened, .. }, kind, renewed, .. } = candidate;
            Suspect { entry: number, kind, renewed, happened, score }
        })
        .collect();
    found.shrink_to_fit();
    found.sort_by(|a, b| b.score().cmp(&a.score()).then(b.entry.cmp(&a.entry)));
    let definition = definitions.fitting(&window.module, &state.identity(&window.module)).ok().flatten();
    let (circumstance, implausible) = as_first_read(&scans, first, &window, code, definition);
    let care = technician_first(code, &window.module, definition.map_or(&[][..], Definition::systems));
    Suspicion { code: code.clone(), window, circumstance, implausible, care, suspects: found, span }
}

/// What the reading that first had the code says about it.
fn as_first_read(
    scans: &Scans<'_>,
    first: &Entry,
    window: &Window,
    code: &TroubleCode,
    definition: Option<&Definition>,
) -> (Option<Circumstance>, Vec<ReadingRemark>) {
    let Body::Reading(reading) = &first.body else { return (None, Vec::new()) };
    // The readings are in the order in which they were taken.
    let before = scans.readings.iter().take_while(|earlier| earlier.number != first.number);
    // Later ones take the place of earlier ones.
    let before: BTreeMap<&ModuleName, &[ReportedCode]> =
        before.flat_map(|reading| Scans::in_reading(reading)).collect();
    let circumstance = circumstance(|module| before.get(module).copied(), reading);
    let codes = reading.covered.get(&window.module).and_then(|covered| covered.trouble_codes.as_ref());
    let reported = codes.into_iter().flatten().find(|reported| reported.code == *code);
    let against = reported.map(|reported| {
        implausible(&window.module, reported, definition, &reading.situation, reading.supply_voltage.as_ref())
    });
    (circumstance, against.unwrap_or_default())
}
