//! A plan that is shown, and saved where that is asked for: one way for every command that plans.

use std::collections::BTreeSet;
use std::path::Path;

use asfound_core::entry::Acknowledgement;
use asfound_core::plan::{SheetCode, Targets, Wish};
use asfound_core::safety::SafetyTag;

use crate::arguments::{acknowledgement_options, with_options};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::plan_file::{PlanFile, save};
use crate::planning::planned;
use crate::screens::work_sheet::WorkSheet;
use crate::setup::{Session, TracedJournal};

/// What is shown.
pub struct PlanPreview<'p> {
    /// What the plan is for.
    pub wish: Wish,
    /// The targets.
    pub targets: Targets<'p>,
    /// The acknowledgements given so far. A plan is shown without them; to carry it out they are needed.
    pub acknowledgements: Vec<Acknowledgement>,
    /// The file that it is saved to.
    pub save: Option<&'p Path>,
}

/// The options that acknowledge what a plan needs; nothing where it needs nothing.
pub struct AcknowledgementOptions {
    /// For everything that it needs.
    pub all: Option<String>,
    /// For what nobody has acknowledged yet.
    pub missing: Option<String>,
    /// The code of the sheet.
    pub sheet: SheetCode,
}

/// The command that files a plan as carried out; `show` is the one that shows its sheet.
pub fn done_line(show: &str, asked: &AcknowledgementOptions) -> String {
    with_options(&format!("{show} --done --sheet {} --why TEXT", asked.sheet), asked.all.as_ref())
}

/// Shows a plan as a work sheet. `next` says with what command it is filed when every step is made.
///
/// # Errors
/// Why there is no plan, or why it cannot be saved.
pub fn show(
    session: &mut Session<'_>,
    known: &TracedJournal,
    previewing: PlanPreview<'_>,
    next: impl FnOnce(&AcknowledgementOptions) -> String,
) -> Result<Exit, Failure> {
    let PlanPreview { wish, targets, acknowledgements, save: path } = previewing;
    let plan = planned(&known.history, &known.definitions, &targets)?;
    let aim = wish.aim();
    let tags: BTreeSet<SafetyTag> = plan.steps.iter().flat_map(|step| step.restricted.iter().copied()).collect();
    let tags: Vec<SafetyTag> = tags.into_iter().collect();
    let given = acknowledgements.clone();
    let saving = PlanFile { wish, acknowledgements, targets: &targets, plan: &plan };
    let saved = path.map(|path| save(session, known, path, saving)).transpose()?;
    let mut sheet = WorkSheet::new(known, session.environment.now, aim, plan, saved.clone());
    sheet.hold_against(&given);
    let options = |tags: &[SafetyTag]| (!tags.is_empty()).then(|| acknowledgement_options(tags));
    let asked = AcknowledgementOptions { all: options(&tags), missing: options(&sheet.missing), sheet: sheet.code };
    sheet.next = match &saved {
        Some(file) => with_options(&format!("asfound plan done {file} --why TEXT"), asked.missing.as_ref()),
        None => next(&asked),
    };
    session.show(&sheet)?;
    Ok(Exit::Done)
}
