//! What may have to do with a trouble code.

use std::collections::{BTreeMap, BTreeSet};

use super::candidates::{Candidate, SuspectKind, candidates};
use super::score::{Scale, ScoreReason};
use super::window::window;
use super::{Circumstance, NoSuspects, Window, common_circumstance};
use crate::definition::{Definition, DefinitionSet};
use crate::entry::{Body, Entry};
use crate::history::{Field, History};
use crate::names::{EntryNumber, ModuleName};
use crate::reading::{ReadingRemark, implausible};
use crate::safety::SafetyTag;
use crate::state::State;
use crate::trial::Scans;
use crate::trouble_code::{TroubleCode, technician_first};

/// An entry that may have to do with a trouble code: it came in the window, which proves nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suspect {
    /// The work, or the reading that shows what nobody recorded.
    pub entry: EntryNumber,
    /// Which of the two.
    pub kind: SuspectKind,
    /// What was altered.
    pub fields: BTreeSet<Field>,
    /// Modules that are another unit or have other software.
    pub renewed: Vec<ModuleName>,
    /// Why it is suspected, largest first.
    pub reasons: Vec<ScoreReason>,
}

impl Suspect {
    /// The sum of its reasons.
    pub fn score(&self) -> u32 {
        self.reasons.iter().map(|reason| reason.points).sum()
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
}

/// Looks for what may have to do with a code. `module` is needed where several modules had it.
///
/// # Errors
/// When no reading has the code, or several modules had it and none is named.
pub fn suspects<'e>(
    entries: impl IntoIterator<Item = &'e Entry>,
    history: &History,
    definitions: &DefinitionSet,
    code: &TroubleCode,
    module: Option<&ModuleName>,
) -> Result<Suspicion, NoSuspects> {
    let entries: Vec<&Entry> = entries.into_iter().collect();
    let scans = Scans::of(entries.iter().copied());
    let window = window(&entries, history, &scans, code, module)?;
    let by_number: BTreeMap<EntryNumber, &Entry> = entries.iter().map(|entry| (entry.number, *entry)).collect();
    let first = by_number[&window.first];
    let start = window.without.or(entries.first().map(|entry| entry.number));
    let from = start.and_then(|start| by_number.get(&start)).map_or(first.happened, |entry| entry.happened);
    let state = history.state();
    let scale = Scale { module: &window.module, code, state, definitions, window: (from, first.happened) };
    let mut found: Vec<Suspect> = candidates(&entries, history, &window)
        .into_iter()
        .map(|candidate| {
            let reasons = scale.reasons(&candidate, by_number[&candidate.entry].happened);
            let Candidate { entry, kind, fields, renewed } = candidate;
            Suspect { entry, kind, fields, renewed, reasons }
        })
        .collect();
    found.sort_by(|a, b| b.score().cmp(&a.score()).then(b.entry.cmp(&a.entry)));
    let definition = definitions.fitting(&window.module, &state.identity(&window.module)).ok().flatten();
    let (circumstance, implausible) = as_first_read(&entries, first, &window, code, definition);
    let care = technician_first(code, &window.module, definition.map_or(&[][..], Definition::systems));
    Ok(Suspicion { code: code.clone(), window, circumstance, implausible, care, suspects: found })
}

/// What the reading that first had the code says about it.
fn as_first_read(
    entries: &[&Entry],
    first: &Entry,
    window: &Window,
    code: &TroubleCode,
    definition: Option<&Definition>,
) -> (Option<Circumstance>, Vec<ReadingRemark>) {
    let Body::Reading(reading) = &first.body else { return (None, Vec::new()) };
    // The history traced these entries, so they follow from each other.
    let before = entries.iter().copied().take_while(|entry| entry.number < first.number);
    let before = State::fold(before).unwrap_or_default();
    let circumstance = common_circumstance(&before, reading);
    let codes = reading.covered.get(&window.module).and_then(|covered| covered.trouble_codes.as_ref());
    let reported = codes.into_iter().flatten().find(|reported| reported.code == *code);
    let against = reported.map(|reported| {
        implausible(&window.module, reported, definition, &reading.situation, reading.supply_voltage.as_ref())
    });
    (circumstance, against.unwrap_or_default())
}
