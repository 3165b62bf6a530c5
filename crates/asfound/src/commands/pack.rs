//! `asfound pack`

use clap::Args as ClapArgs;

use crate::exit::Exit;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::screens::packed::PackScreen;
use crate::setup::Session;

/// Pack what the journals consist of, so that the garage takes less room and is read faster.
///
/// Others may read and file meanwhile, and nothing is ever removed that is not in a pack which was read back first. Once
/// it pays this happens by itself after an entry is filed, in small portions; this does all of it now.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Example:\n  asfound pack")]
pub struct Args {}

/// Runs the command.
pub fn run(_: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let mut progress = Progress::start(session.environment.colour_of_errors || session.environment.interactive);
    let tidied = garage
        .store()
        .tidy(&mut |done| progress.tell(session.err, || format!("{} of {} objects", done.packed, done.total)));
    progress.wipe(session.err);
    session.show(&PackScreen { garage: garage.path().to_owned(), tidied: tidied? })?;
    Ok(Exit::Done)
}
