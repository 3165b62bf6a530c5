//! `asfound vehicles`

use asfound_journal::journal::Journal;
use asfound_journal::store::Store;
use clap::Args as ClapArgs;

use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::vehicles::{VehicleLine, Vehicles};
use crate::setup::{Known, Session};

/// List all journals of the garage, with the last entry of each and how many trials are open.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Example:\n  asfound vehicles --json")]
pub struct Args {}

/// Runs the command.
pub fn run(_: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let mut lines = Vec::new();
    for tag in garage.store().tags()? {
        // The list is there even where a journal cannot be traced, say because two definitions fit a module.
        let known = Known::open(session, &tag).ok();
        let on_trial = known.map(|known| known.trials().values().filter(|trial| trial.is_open()).count());
        let journal = Journal::new(garage.store(), tag);
        lines.push(VehicleLine { vehicle: journal.vehicle()?, last: journal.last()?.entry, on_trial });
    }
    session.show(&Vehicles { garage: garage.path().to_owned(), lines })?;
    Ok(Exit::Done)
}
