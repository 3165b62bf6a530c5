//! `asfound vehicles`

use asfound_journal::Digest;
use asfound_journal::index::Remembered;
use asfound_journal::journal::Journal;
use asfound_journal::store::Store;
use clap::Args as ClapArgs;

use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::vehicles::{VehicleLine, Vehicles};
use crate::setup::Session;

/// List all journals of the garage, with the last entry of each.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Example:\n  asfound vehicles --json")]
pub struct Args {}

/// The form in which a line is remembered; to be altered with what a line holds or follows from.
const LINE: &[u8] = b"1";

/// Runs the command.
pub fn run(_: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let tips = garage.store().tips()?;
    let mut remembered = Remembered::open(garage.store().index(), "vehicles", Digest::of(LINE));
    let mut lines = Vec::with_capacity(tips.len());
    for (tag, tip) in &tips {
        let kept = remembered.get(tag, tip).and_then(|text| serde_json::from_str::<VehicleLine>(text).ok());
        let line = if let Some(line) = kept {
            line
        } else {
            let journal = Journal::new(garage.store(), tag.clone());
            let line = VehicleLine::new(journal.vehicle()?, &journal.last()?.entry);
            if let Ok(text) = serde_json::to_string(&line) {
                remembered.put(tag.clone(), tip.clone(), text);
            }
            line
        };
        lines.push(line);
    }
    remembered.keep(|tag| tips.contains_key(tag));
    session.show(&Vehicles { garage: garage.path().to_owned(), lines })?;
    Ok(Exit::Done)
}
