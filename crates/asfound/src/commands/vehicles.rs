//! `asfound vehicles`

use asfound_core::definition::DefinitionSet;
use asfound_core::history::History;
use asfound_core::order::orders;
use asfound_core::trial::trials;
use asfound_journal::index::Remembered;
use asfound_journal::journal::{FiledEntry, Journal};
use asfound_journal::store::{GitStore, Store};
use clap::Args as ClapArgs;

use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::vehicles::{VehicleLine, Vehicles};
use crate::setup::{DefinitionFiles, Session, explained_by};

/// List all journals of the garage, with the last entry of each, and how many orders and trials are open.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Example:\n  asfound vehicles --json")]
pub struct Args {}

/// The form in which a line is remembered; to be altered with what a line holds, or with how it follows from the journal
/// and the definitions.
const LINE: &[u8] = b"2";

/// Runs the command.
pub fn run(_: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let tips = garage.store().tips()?;
    let files = DefinitionFiles::read(&garage)?;
    let mut definitions = None;
    let mut remembered = Remembered::open(garage.store().index(), "vehicles", files.digest_with(LINE));
    let mut lines = Vec::with_capacity(tips.len());
    for (tag, tip) in &tips {
        let kept = remembered.get(tag, tip).and_then(|text| serde_json::from_str::<VehicleLine>(text).ok());
        let line = if let Some(line) = kept {
            line
        } else {
            let definitions = definitions.get_or_insert_with(|| files.parse().ok());
            let line = look_up(&Journal::new(garage.store(), tag.clone()), definitions.as_ref())?;
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

/// What a journal says. The list is there even where a journal cannot be traced, say because two definitions fit a module.
fn look_up(journal: &Journal<'_, GitStore>, definitions: Option<&DefinitionSet>) -> Result<VehicleLine, Failure> {
    let (vehicle, last) = (journal.vehicle()?, journal.last()?.entry);
    let entries = journal.entries().ok();
    let open = |entries: &Vec<FiledEntry>| orders(lines(entries)).iter().filter(|order| order.closed.is_none()).count();
    let open_orders = entries.as_ref().map(open);
    let on_trial = entries.zip(definitions).and_then(|(entries, definitions)| {
        let definitions = explained_by(definitions, journal, &entries).ok()?;
        let history = History::trace(lines(&entries), &definitions).ok()?;
        Some(trials(lines(&entries), &history).iter().filter(|trial| trial.state.is_open()).count())
    });
    let (entries, kind, recorded) = (last.number, last.body.kind().to_owned(), last.recorded);
    Ok(VehicleLine { vehicle, entries, kind, recorded, open_orders, on_trial })
}

fn lines(entries: &[FiledEntry]) -> impl Iterator<Item = &asfound_core::entry::Entry> + Clone {
    entries.iter().map(|filed| &filed.entry)
}
