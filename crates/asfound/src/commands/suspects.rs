//! `asfound suspects`

use asfound_core::names::{ModuleName, Tag};
use asfound_core::suspects::{narrow, suspects};
use asfound_core::trouble_code::TroubleCode;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::suspects::SuspectsSheet;
use crate::setup::{Session, TracedJournal};

/// List what was altered before a trouble code came, strongest suspect first, each with the reasons.
///
/// That something was altered before a code came proves nothing. --next proposes which entries to put back together so
/// that the fewest drives are to be expected; restricted systems are never experimented with. The exit code is 1 when
/// nothing was altered in the window.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound suspects wren B1234-11\n  asfound suspects wren U0100 --module gateway --next\n\n\
                  The score and the rounds are described in docs/trouble-codes.md."
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The code, as its module gave it
    pub code: TroubleCode,

    /// The module that has it, where several had
    #[arg(long, value_name = "NAME")]
    pub module: Option<ModuleName>,

    /// Propose what to put back next
    #[arg(long)]
    pub next: bool,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, &args.tag)?;
    let trials = known.trials(None)?;
    let suspicion = suspects(&trials, &known.history, &known.definitions, &args.code, args.module.as_ref())
        .map_err(|error| Failure::usage(&error).maybe_hint(error.hint()))?;
    let narrowed = narrow(&trials, &known.history, &known.definitions, &suspicion);
    drop(trials);
    let none = suspicion.suspects.is_empty();
    SuspectsSheet::new(&known, suspicion, narrowed, args.next)?.write(session)?;
    Ok(if none { Exit::No } else { Exit::Done })
}
