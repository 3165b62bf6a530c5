//! `asfound put-back`

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use asfound_core::entry::{Body, PutBackOf};
use asfound_core::history::{Field, Origin};
use asfound_core::names::{EntryNumber, SettingPath, Tag};
use asfound_core::plan::{PlanRefusal, PutBackWish, Wish, put_back};
use asfound_journal::journal::Basis;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::apply_plan::{carry_out, targeting};
use crate::arguments::{Acknowledged, Assignment, AssignmentPlace, FollowedSheet, ForATime, parse_moment, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::Filing;
use crate::followed_sheet::followed;
use crate::parse_targets::value_of;
use crate::plan_preview::{PlanPreview, done_line, show};
use crate::planning::refusal;
use crate::setup::{Session, TracedJournal, reason};

/// Plan how to take entries back and keep every later one; with --done, file it as carried out.
///
/// It works setting by setting. Where a later entry changed the same setting again, it stops and names that entry.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound put-back wren 4
  asfound put-back wren 4 7 --done --sheet 7Q4M-9X2F --why \"owner wants it as it was\"
  asfound put-back wren 4 --save back.toml
  asfound put-back wren 4 --keep body.lock_by_horn --choose body.lane_change_flashes=2")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The entries to take back
    #[arg(required = true, value_name = "N")]
    pub entries: Vec<EntryNumber>,

    /// A setting that keeps its present value
    #[arg(long, value_name = "SETTING")]
    pub keep: Vec<SettingPath>,

    /// A setting for which another value is chosen
    #[arg(long, value_name = "SETTING=VALUE")]
    pub choose: Vec<Assignment>,

    /// Settings that may be altered for a time
    #[command(flatten)]
    pub for_a_time: ForATime,

    /// File it as carried out
    #[arg(long)]
    pub done: bool,

    /// The work sheet by which it was carried out
    #[command(flatten)]
    pub sheet: FollowedSheet,

    /// Save the plan to a file, to be shown, walked or filed later
    #[arg(long, value_name = "FILE", conflicts_with = "done")]
    pub save: Option<PathBuf>,

    /// Why it is put back
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,

    /// When it was carried out, if not now
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,

    /// A file to keep with the entry
    #[arg(long, value_name = "FILE")]
    pub attach: Vec<PathBuf>,

    /// Acknowledgements of restricted systems
    #[command(flatten)]
    pub acknowledged: Acknowledged,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let entries: BTreeSet<EntryNumber> = args.entries.iter().copied().collect();
    let basis = Basis { entries: entries.clone(), back_to: None };
    let known = TracedJournal::open_to_write(session, &args.tag, &basis)?;
    for entry in &entries {
        known.entry(*entry)?;
    }
    about_what_is_put_back(args, &known, &entries)?;
    let wish = PutBackWish {
        entries: entries.clone(),
        keep: args.keep.iter().cloned().collect(),
        choose: chosen(args, &known)?,
    };
    let targets = targeting(|known, history| {
        let mut targets = put_back(history, &wish).map_err(|error| no_plan(&error))?;
        args.for_a_time.allow(known, history, &mut targets)?;
        Ok(targets)
    });
    let acknowledgements = args.acknowledged.list()?;
    let list: Vec<String> = entries.iter().map(ToString::to_string).collect();
    let mut show_it = format!("asfound put-back {} {}", args.tag, list.join(" "));
    args.keep.iter().for_each(|path| show_it.push_str(&format!(" --keep {path}")));
    wish.choose.iter().for_each(|(path, value)| show_it.push_str(&format!(" --choose '{path}={value}'")));
    show_it.push_str(&args.for_a_time.as_options());
    if !args.done {
        let choose = wish.choose.iter().map(|(path, value)| (path.clone(), value.to_string())).collect();
        let saved_wish = Wish::PutBack { entries: entries.clone(), keep: wish.keep.clone(), choose };
        let (targets, save) = (targets(&known, &known.history)?, args.save.as_deref());
        let previewing = PlanPreview { wish: saved_wish, targets, acknowledgements, save };
        return show(session, &known, previewing, |asked| done_line(&show_it, asked));
    }
    let sheet = followed(&args.sheet, &show_it, session)?;
    let at = args.at.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
    let why = reason(args.why.as_deref(), "")?;
    let filing = Filing::new(session, &known.garage, why)?.happened(at).attach(&args.attach)?;
    let of = PutBackOf::Entries(entries.into_iter().collect());
    carry_out(session, known, &filing, (&acknowledgements, Some(sheet)), targets, |work| {
        Body::PutBack(of.clone(), work)
    })
}

/// Refuses `--keep` and `--choose` for settings that the entries did not alter: a slip in a name would go unnoticed.
fn about_what_is_put_back(args: &Args, known: &TracedJournal, entries: &BTreeSet<EntryNumber>) -> Result<(), Failure> {
    let mut altered: BTreeSet<&SettingPath> = BTreeSet::new();
    for (field, step) in entries.iter().flat_map(|entry| known.history.transitions_of(*entry)) {
        if let (Field::Setting(path), true) = (field, step.origin != Origin::FirstKnown) {
            altered.insert(path);
        }
    }
    let chosen = args.choose.iter().filter_map(|assignment| match &assignment.place {
        AssignmentPlace::Setting(path) => Some(path),
        AssignmentPlace::Record(..) => None,
    });
    let Some(stray) = args.keep.iter().chain(chosen).find(|path| !altered.contains(path)) else { return Ok(()) };
    let failure = Failure::usage(format!("{stray} is not among what would be put back"));
    if altered.is_empty() {
        return Err(failure);
    }
    let names: Vec<String> = altered.iter().map(ToString::to_string).collect();
    Err(failure.hint(format!("these are: {}", names.join(", "))))
}

/// Why there is no plan. What was not known cannot be put back, but another value may be chosen.
fn no_plan(error: &PlanRefusal) -> Failure {
    let failure = refusal(error);
    match error {
        PlanRefusal::NoWayBack(_) => {
            failure.hint("choose a value with `--choose SETTING=VALUE`, or leave it as it is with `--keep SETTING`")
        }
        _ => failure,
    }
}

fn chosen(args: &Args, known: &TracedJournal) -> Result<BTreeMap<SettingPath, asfound_core::value::Value>, Failure> {
    let mut chosen = BTreeMap::new();
    for assignment in &args.choose {
        let AssignmentPlace::Setting(path) = &assignment.place else {
            return Err(Failure::usage(format!("a value is chosen for a setting, not for {}", assignment.place)));
        };
        let value = value_of(&known.history, &known.definitions, path, &assignment.text, true)?;
        chosen.insert(path.clone(), value);
    }
    Ok(chosen)
}
