//! `asfound trial`

use asfound_core::names::Tag;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::trial::TrialSheet;
use crate::setup::{Session, TracedJournal};

/// Tell which work is still on trial, and which modules have to be read to close it.
///
/// Work is on trial until readings taken after the vehicle was driven (on a later day, or with more kilometres) show that
/// it held and that no new trouble code came.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound trial wren\n  asfound trial wren --all")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// Show the trials that are over as well
    #[arg(long)]
    pub all: bool,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, &args.tag)?;
    TrialSheet::new(&known, args.all)?.write(session)?;
    Ok(Exit::Done)
}
