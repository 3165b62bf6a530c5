//! `asfound settings`

use asfound_core::moment::TimeSpan;
use asfound_core::names::{EntryNumber, ModuleName, Tag};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::{MomentError, parse_moment, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::settings::SettingsScreen;
use crate::setup::{Session, TracedJournal};

/// List every setting as last known, with how well it is proven.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound settings wren\n  asfound settings wren --module body\n  asfound settings wren --at 2 --altered\n  asfound settings wren --at 2026-03-14"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// As it was known after an entry, or as it was at a time, as known today: a number, or a date with or without a time
    #[arg(long, value_name = "N|TIME")]
    pub at: Option<String>,

    /// Only this module
    #[arg(long, value_name = "NAME")]
    pub module: Option<ModuleName>,

    /// Only settings that were altered, by whomever
    #[arg(long)]
    pub altered: bool,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let mut known = TracedJournal::open(session, &args.tag)?;
    let mut as_of = None;
    let mut number = known.last();
    match args.at.as_deref().map(|text| (text, text.parse::<EntryNumber>())) {
        Some((_, Ok(entry))) => {
            known.turn_back(entry)?;
            number = entry;
        }
        Some((text, Err(_))) => {
            let at = parse_moment(text, &session.environment.zone).map_err(|error| match error {
                MomentError::Form(_) => {
                    Failure::usage(format!("invalid `--at {text}` (expected an entry's number or a time)"))
                        .hint("write it as in `--at 7`, `--at 2026-03-14` or `--at \"2026-03-14 09:20\"`")
                }
                local @ MomentError::Local(_) => local.into(),
            })?;
            known.turn_to(TimeSpan::around(at.at, at.precision).last())?;
            as_of = Some(at);
        }
        None => {}
    }
    let history = &known.history;
    if let Some(module) = &args.module
        && history.state().module(module).is_none()
    {
        let names: Vec<&str> = history.state().modules.keys().map(ModuleName::as_str).collect();
        let hint = match names.as_slice() {
            [] => format!("nothing is known of any yet; file a reading: asfound read {} FILE", args.tag),
            names => format!("these are known: {}", names.join(", ")),
        };
        return Err(Failure::usage(format!("nothing is known of a module `{module}`")).hint(hint));
    }
    let settings = SettingsScreen::new(&known, number, as_of, args.module.as_ref(), args.altered)?;
    session.show(&settings)?;
    Ok(Exit::Done)
}
