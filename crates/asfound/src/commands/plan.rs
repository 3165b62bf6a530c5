//! `asfound plan`

use std::path::{Path, PathBuf};

use asfound_core::entry::WorkBody;
use asfound_core::plan::{SavedPlan, SavedStep, SheetCode, is_rest_of, sheet_differences};
use clap::{Args as ClapArgs, Subcommand};

use crate::arguments::{Acknowledged, FollowedSheet, acknowledgement_options, parse_moment, with_options};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{FileTarget, Filing, file};
use crate::followed_sheet::{other_steps, steps_of};
use crate::plan_file::{InDoubt, basis_of, load, numbers, rest};
use crate::planning::{acknowledged, has_steps};
use crate::screens::work_filed::WorkFiled;
use crate::screens::work_sheet::WorkSheet;
use crate::setup::{Session, TracedJournal, reason};

/// Show a saved plan as a work sheet, or file it as carried out.
///
/// The steps are worked out anew from what the plan was made for and the journal as it is. Where an entry has since
/// moved something that the plan touches, it is refused and the entry is named.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound plan show back.toml\n  asfound plan done back.toml --why \"as agreed\"")]
pub struct Args {
    /// What to do
    #[command(subcommand)]
    pub action: Action,
}

/// What to do with a saved plan.
#[derive(Debug, Subcommand)]
pub enum Action {
    /// Show the work sheet, from the journal as it is now
    #[command(after_help = "Example:\n  asfound plan show back.toml")]
    Show {
        /// The plan, as `--save` wrote it
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// File what is left of the plan as carried out
    #[command(after_help = "Example:\n  asfound plan done back.toml --why \"owner wants it as it was\"")]
    Done {
        /// The plan, as `--save` wrote it
        #[arg(value_name = "FILE")]
        file: PathBuf,

        /// The work sheet by which it was carried out, where that is not the one that was saved
        #[command(flatten)]
        sheet: FollowedSheet,

        /// Why it was carried out
        #[arg(long, value_name = "TEXT")]
        why: Option<String>,

        /// When it was carried out, if not now
        #[arg(long, value_name = "TIME")]
        at: Option<String>,

        /// A file to keep with the entry
        #[arg(long, value_name = "FILE")]
        attach: Vec<PathBuf>,

        /// Acknowledgements of restricted systems, beside those saved with the plan
        #[command(flatten)]
        acknowledged: Acknowledged,
    },
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Show { file } => show(file, session),
        Action::Done { file, sheet, why, at, attach, acknowledged } => {
            let at = at.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
            let mut saved = load(file)?;
            saved.acknowledgements.extend(acknowledged.list()?);
            let known = TracedJournal::open_to_write(session, &saved.vehicle, &basis_of(&saved.wish))?;
            let why = reason(why.as_deref(), "")?;
            let filing = Filing::new(session, &known.garage, why)?.happened(at).attach(attach)?;
            done(&saved, known, &filing, sheet.code, session)
        }
    }
}

fn show(path: &Path, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let saved = load(path)?;
    let known = TracedJournal::open_to_write(session, &saved.vehicle, &basis_of(&saved.wish))?;
    let journal = known.journal();
    let (plan, own) = rest(&saved, journal.each(&known.index), &known.history, &known.definitions, InDoubt::ReadFirst)?;
    let steps = steps_of(&plan);
    let as_saved = is_saved_sheet(&saved, &steps, !own.is_empty());
    let shown = path.display().to_string();
    let mut sheet = WorkSheet::new(&known, session.environment.now, saved.wish.aim(), plan, Some(shown.clone()));
    sheet.is_new = false;
    sheet.hold_against(&saved.acknowledgements);
    let missing = (!sheet.missing.is_empty()).then(|| acknowledgement_options(&sheet.missing));
    let code = if as_saved { String::new() } else { format!(" --sheet {}", sheet.code) };
    sheet.next = with_options(&format!("asfound plan done {shown}{code} --why TEXT"), missing.as_ref());
    if !own.is_empty() {
        sheet
            .remarks
            .push(format!("a part of it was carried out in entry {}; this is what is left", numbers(&saved.own(&own))));
    }
    if !as_saved {
        let remark = "the journal or the definitions have moved on: the steps are not those that were saved";
        sheet.remarks.push(remark.to_owned());
    }
    session.show(&sheet)?;
    Ok(Exit::Done)
}

/// Whether the steps are those that were saved, or what is left of them after a part was carried out.
fn is_saved_sheet(saved: &SavedPlan, steps: &[SavedStep], partly_done: bool) -> bool {
    sheet_differences(&saved.steps, steps).is_empty() || (partly_done && is_rest_of(steps, &saved.steps))
}

fn done(
    saved: &SavedPlan,
    known: TracedJournal,
    filing: &Filing,
    sheet: Option<SheetCode>,
    session: &mut Session<'_>,
) -> Result<Exit, Failure> {
    let mut carried = None;
    let (explained, history) = known.apart();
    let filed = file(FileTarget::giving_up(&explained, history), filing, |before| {
        let journal = explained.journal();
        let each = journal.each(&before.index);
        let (plan, own) = rest(saved, each, &before.history, before.definitions, InDoubt::Refused)?;
        has_steps(&plan)?;
        let steps = steps_of(&plan);
        let followed = match sheet {
            Some(code) => SheetCode::of(&saved.vehicle, &steps) == code,
            None => is_saved_sheet(saved, &steps, !own.is_empty()),
        };
        if !followed {
            return Err(other_steps(&saved.vehicle, &sheet_differences(&saved.steps, &steps), None));
        }
        let clearance = acknowledged(&plan, &saved.acknowledgements)?;
        let work = WorkBody { plan: Some(saved.id.clone()), ..clearance.work() };
        carried = Some(plan);
        Ok(saved.wish.body(work))
    })?;
    if let Some(plan) = carried {
        session.show(&WorkFiled::new(&explained.tag, &filed, plan))?;
    }
    Ok(Exit::Done)
}
