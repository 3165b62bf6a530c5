//! `asfound settings`

use asfound_core::names::{EntryNumber, ModuleName, Tag};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::settings::Settings;
use crate::setup::{Known, Session};

/// List every setting as last known, with how well it is proven.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound settings wren\n  asfound settings wren --module body\n  asfound settings wren --at 2 --altered"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// As it was known after this entry
    #[arg(long, value_name = "N")]
    pub at: Option<EntryNumber>,

    /// Only this module
    #[arg(long, value_name = "NAME")]
    pub module: Option<ModuleName>,

    /// Only settings that were altered, by whomever
    #[arg(long)]
    pub altered: bool,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let mut known = Known::open(session, &args.tag)?;
    if let Some(number) = args.at {
        known.turn_back(number)?;
    }
    let (number, history) = (args.at.unwrap_or_else(|| known.last()), &known.history);
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
    let settings = Settings::new(&known, number, history, args.module.as_ref(), args.altered)?;
    session.show(&settings)?;
    Ok(Exit::Done)
}
