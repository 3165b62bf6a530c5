//! `asfound match`

use std::collections::BTreeSet;
use std::path::PathBuf;

use asfound_core::entry::Body;
use asfound_core::names::{SettingPath, Tag};
use asfound_core::plan::{ChangeWish, Wish, match_other};
use asfound_journal::journal::Basis;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::apply_plan::{carry_out, targeting};
use crate::arguments::{Acknowledged, FollowedSheet, ForATime, parse_moment, settings_of_vehicle, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::Filing;
use crate::followed_sheet::followed;
use crate::plan_preview::{PlanPreview, done_line, show};
use crate::planning::refusal;
use crate::setup::{Session, TracedJournal, reason};

/// Plan how to give chosen settings the values that another vehicle has; with --done, file it as carried out.
///
/// Values go over, never bytes: each is written by the definition that fits this vehicle's module. A setting for which
/// that cannot be done stays as it is, with the reason.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound match wren plover body.lane_change_flashes body.lock_by_horn
  asfound match wren plover body.lane_change_flashes --save like-plover.toml
  asfound match wren plover body.lane_change_flashes --done --sheet 7Q4M-9X2F --why \"both cars alike\"")]
pub struct Args {
    /// The vehicle that is to be altered
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The vehicle that has the values
    #[arg(add = ArgValueCompleter::new(tags))]
    pub other: Tag,

    /// The settings
    #[arg(required = true, value_name = "SETTING", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub settings: Vec<SettingPath>,

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

    /// Why it is altered
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
    if args.tag == args.other {
        return Err(Failure::usage(format!("{} is like itself already", args.tag)));
    }
    let known = TracedJournal::open_to_write(session, &args.tag, &Basis::default())?;
    let other = TracedJournal::open_to_write(session, &args.other, &Basis::default())?;
    let settings: BTreeSet<SettingPath> = args.settings.iter().cloned().collect();
    let targets = targeting(|known, history| {
        let targets = match_other(history, &known.definitions, other.state(), &other.definitions, &settings);
        let mut targets = targets.map_err(|error| refusal(&error))?;
        args.for_a_time.allow(known, history, &mut targets)?;
        Ok(targets)
    });
    let acknowledgements = args.acknowledged.list()?;
    let list: Vec<String> = settings.iter().map(ToString::to_string).collect();
    let aside = args.for_a_time.as_options();
    let show_it = format!("asfound match {} {} {}{aside}", args.tag, args.other, list.join(" "));
    if !args.done {
        let targets = targets(&known, &known.history)?;
        let chosen = targets.chosen().map(|(path, value)| (path.clone(), value.to_string()));
        let wish = ChangeWish { settings: chosen.collect(), like: Some(args.other.clone()), ..ChangeWish::default() };
        if wish.settings.is_empty() && args.save.is_some() {
            return Err(Failure::refused("none of these changes can be made, so there is nothing to save")
                .hint("leave out `--save` to see why"));
        }
        let previewing =
            PlanPreview { wish: Wish::Change(wish), targets, acknowledgements, save: args.save.as_deref() };
        return show(session, &known, previewing, |asked| done_line(&show_it, asked));
    }
    let sheet = followed(&args.sheet, &show_it, session)?;
    let at = args.at.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
    let why = reason(args.why.as_deref(), "")?;
    let filing = Filing::new(session, &known.garage, why)?.happened(at).attach(&args.attach)?;
    carry_out(session, known, &filing, (&acknowledgements, Some(sheet)), targets, Body::Change)
}
