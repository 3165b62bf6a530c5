//! `asfound return-to`

use std::path::PathBuf;

use asfound_core::entry::{Body, PutBackOf};
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::{PlanRefusal, Wish, return_to};
use asfound_journal::journal::Basis;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::apply_plan::{carry_out, targeting};
use crate::arguments::{Acknowledged, FollowedSheet, ForATime, parse_moment, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::Filing;
use crate::followed_sheet::followed;
use crate::plan_preview::{PlanPreview, done_line, show};
use crate::planning::refusal;
use crate::setup::{Session, TracedJournal, reason};

/// Plan how to bring everything known back to what it was after an entry; with --done, file it as carried out.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound return-to wren 2
  asfound return-to wren 2 --save back.toml
  asfound return-to wren 2 --done --sheet 7Q4M-9X2F --why \"sold; as the maker left it\"")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The entry to return to
    #[arg(value_name = "N")]
    pub entry: EntryNumber,

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

    /// Why
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
    let basis = Basis { back_to: Some(args.entry), ..Basis::default() };
    let known = TracedJournal::open_to_write(session, &args.tag, &basis)?;
    known.entry(args.entry)?;
    let targets = targeting(|known, history| {
        let targets = return_to(history, args.entry).map_err(|error| match error {
            PlanRefusal::NoWayBack(_) => refusal(&error)
                .hint("put entries back by number instead: `asfound put-back` can choose or keep a value"),
            error => refusal(&error),
        });
        let mut targets = targets?;
        args.for_a_time.allow(known, history, &mut targets)?;
        Ok(targets)
    });
    let acknowledgements = args.acknowledged.list()?;
    let show_it = format!("asfound return-to {} {}{}", args.tag, args.entry, args.for_a_time.as_options());
    if !args.done {
        let (wish, targets, save) =
            (Wish::ReturnTo(args.entry), targets(&known, &known.history)?, args.save.as_deref());
        let previewing = PlanPreview { wish, targets, acknowledgements, save };
        return show(session, &known, previewing, |asked| done_line(&show_it, asked));
    }
    let sheet = followed(&args.sheet, &show_it, session)?;
    let at = args.at.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
    let why = reason(args.why.as_deref(), "")?;
    let filing = Filing::new(session, &known.garage, why)?.happened(at).attach(&args.attach)?;
    let of = PutBackOf::ReturnTo(args.entry);
    carry_out(session, known, &filing, (&acknowledgements, Some(sheet)), targets, |work| {
        Body::PutBack(of.clone(), work)
    })
}
