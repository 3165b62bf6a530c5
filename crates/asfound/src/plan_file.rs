//! Plans in files: saved for later, and read again.

use std::path::Path;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Acknowledgement, Entry};
use asfound_core::history::History;
use asfound_core::names::EntryNumber;
use asfound_core::plan::{ChangedField, ChangesSince, Plan, SavedPlan, Targets, Wish};
use asfound_journal::journal::{Basis, FiledEntry, JournalError};

use crate::bounded_file::read_bounded;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::new_file::write_new;
use crate::planning::{planned, refusal};
use crate::setup::{Session, TracedJournal, problems_failure};

/// The largest plan file that is read, in bytes.
const LARGEST: u64 = 16 * 1024 * 1024;

/// What is saved.
pub struct PlanFile<'p> {
    /// What the plan is for.
    pub wish: Wish,
    /// The acknowledgements with which it was made.
    pub acknowledgements: Vec<Acknowledgement>,
    /// The targets.
    pub targets: &'p Targets<'p>,
    /// The plan.
    pub plan: &'p Plan,
}

/// Saves a plan to a new file, and says what the file is called.
///
/// # Errors
/// When there is a file already, or it cannot be written.
pub fn save(
    session: &Session<'_>,
    known: &TracedJournal,
    path: &Path,
    saving: PlanFile<'_>,
) -> Result<String, Failure> {
    let PlanFile { wish, acknowledgements, targets, plan } = saving;
    let made = session.environment.now.replace_nanosecond(0).unwrap_or(session.environment.now);
    let saved = SavedPlan::new((known.tag.clone(), made), wish, acknowledgements, (targets, plan));
    write_new(path, &saved.to_text()).map_err(|failure| {
        let hint = "choose another name; a saved plan is not written over";
        if path.symlink_metadata().is_ok() { failure.hint(hint) } else { failure }
    })?;
    Ok(path.display().to_string())
}

/// What bytes that a wish leads to rest on.
pub fn basis_of(wish: &Wish) -> Basis {
    match wish {
        Wish::PutBack { entries, .. } => Basis { entries: entries.clone(), back_to: None },
        Wish::ReturnTo(entry) => Basis { back_to: Some(*entry), ..Basis::default() },
        Wish::Change(_) => Basis::default(),
    }
}

/// Reads a saved plan.
///
/// # Errors
/// When the file cannot be read, or with every problem in it.
pub fn load(path: &Path) -> Result<SavedPlan, Failure> {
    let bytes = read_bounded(path, LARGEST).map_err(|error| unreadable(path, &error))?;
    SavedPlan::parse(&bytes).map_err(|problems| problems_failure(path, &problems))
}

/// The fields of a saved plan that the journal has moved since, and the entries in which parts of the plan were carried out.
///
/// # Errors
/// When the journal is not the one that the plan was made for, or an entry cannot be read.
pub fn since(
    saved: &SavedPlan,
    journal: impl Iterator<Item = Result<FiledEntry, JournalError>>,
    definitions: &DefinitionSet,
) -> Result<(Vec<ChangedField>, Vec<Entry>), Failure> {
    let (mut moving, mut own) = (ChangesSince::of(saved, definitions), Vec::new());
    for filed in journal {
        let entry = filed?.entry;
        moving.push(&entry).map_err(Failure::refused)?;
        own.extend(Some(entry).filter(|entry| saved.is_in(entry)));
    }
    Ok((moving.finish().map_err(Failure::refused)?, own))
}

/// What becomes of a plan whose bytes nobody knows, because a step of earlier work is in doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InDoubt {
    /// There is none.
    Refused,
    /// It is shown or walked, which reads first.
    ReadFirst,
}

/// Works out what is left of a saved plan, from the journal as it is, and in which entries parts of it were carried out. What
/// it needs may not be acknowledged yet.
///
/// # Errors
/// When the journal has moved in a field that the plan touches, with the entry that moved it; when there is nothing
/// left, with the entries in which it was carried out; or why there is no plan.
pub fn rest(
    saved: &SavedPlan,
    journal: impl Iterator<Item = Result<FiledEntry, JournalError>>,
    history: &History,
    definitions: &DefinitionSet,
    in_doubt: InDoubt,
) -> Result<(Plan, Vec<Entry>), Failure> {
    let (moved, carried_out) = since(saved, journal, definitions)?;
    if !moved.is_empty() {
        return Err(stale(saved, &moved));
    }
    let own = saved.own(&carried_out);
    let mut targets = saved.targets(history, definitions, &own).map_err(|error| refusal(&error))?;
    if in_doubt == InDoubt::ReadFirst {
        targets.read_open_steps_first();
    }
    let plan = planned(history, definitions, &targets).map_err(|failure| {
        if failure.exit == Exit::No && !own.is_empty() {
            let noun = if own.len() == 1 { "entry" } else { "entries" };
            let message = format!("nothing is left of the plan: it was carried out in {noun} {}", numbers(&own));
            return Failure { message, ..failure };
        }
        failure
    })?;
    Ok((plan, carried_out))
}

/// The journal has moved on in what a plan touches.
fn stale(saved: &SavedPlan, moved: &[ChangedField]) -> Failure {
    let mut message =
        format!("the plan stands on entry {}, and the journal has moved on in what it touches", saved.stands_on);
    for ChangedField { field, entry } in moved {
        message.push_str(&format!("\n  {field}: entry {entry}"));
    }
    Failure::refused(message)
        .hint(format!("look at it (asfound entry {} {}), and plan anew", saved.vehicle, moved[0].entry))
}

/// The numbers of entries as people list them.
pub fn numbers<'n>(entries: impl IntoIterator<Item = &'n EntryNumber>) -> String {
    entries.into_iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
