//! `asfound vehicles`

use asfound_core::definition::DefinitionSet;
use asfound_core::work_order::WorkOrders;
use asfound_journal::index::VehicleCache;
use asfound_journal::journal::{EntryIndex, Journal, JournalError};
use asfound_journal::store::{GitStore, Store};
use clap::Args as ClapArgs;

use super::open_work;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::found::Unreadable;
use crate::screens::vehicles::{VehicleLine, Vehicles};
use crate::setup::{DefinitionFiles, Session, trials_of};

/// List all journals of the garage, with the last entry of each, and how many orders, trials and doubts are open.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound vehicles\n  asfound vehicles --open\n  asfound vehicles --json")]
pub struct Args {
    /// Only what is open, car by car: orders and what they have not done, guided runs, steps in doubt, trials, and work that
    /// was only stated for more than a week
    #[arg(long)]
    pub open: bool,
}

/// The form in which a line is remembered; to be altered with what a line holds, or with how it follows from the journal
/// and the definitions.
const LINE: &[u8] = b"3";

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    if args.open {
        return open_work::run(session);
    }
    let garage = session.garage()?;
    let tips = garage.store().tips()?;
    let files = DefinitionFiles::read(&garage)?;
    let mut definitions = None;
    let mut remembered = VehicleCache::open(garage.store().index(), "vehicles", files.digest_with(LINE));
    let mut screen = Vehicles { garage: garage.path().to_owned(), lines: Vec::new(), unreadable: Vec::new() };
    for (tag, tip) in &tips {
        let kept = remembered.get(tag, tip).and_then(|text| serde_json::from_str::<VehicleLine>(text).ok());
        let line = if let Some(line) = kept {
            line
        } else {
            let definitions = definitions.get_or_insert_with(|| files.parse().ok());
            let line = match look_up(&Journal::new(garage.store(), tag.clone()), definitions.as_ref()) {
                Ok(line) => line,
                Err(failure) => {
                    screen.unreadable.push(Unreadable { vehicle: tag.clone(), message: failure.message });
                    continue;
                }
            };
            if let Ok(text) = serde_json::to_string(&line) {
                remembered.put(tag.clone(), tip.clone(), text);
            }
            line
        };
        screen.lines.push(line);
    }
    for tag in garage.store().last_filed().tags().iter().filter(|tag| !tips.contains_key(tag)) {
        session.note_set_back(&garage, tag, None);
    }
    remembered.keep(|tag| tips.contains_key(tag));
    session.show(&screen)?;
    Ok(if screen.unreadable.is_empty() { Exit::Done } else { Exit::Damaged })
}

/// What a journal says. The list is there even where a journal cannot be traced, say because two definitions fit a module.
fn look_up(journal: &Journal<'_, GitStore>, definitions: Option<&DefinitionSet>) -> Result<VehicleLine, Failure> {
    let (vehicle, last) = (journal.vehicle()?, journal.last()?.entry);
    let index = journal.index().ok();
    let open_orders = index.as_ref().and_then(|index| open_orders(journal, index).ok());
    let traced = index.zip(definitions).and_then(|(index, definitions)| traced(journal, &index, definitions).ok());
    let (on_trial, in_doubt) = traced.unzip();
    let (entries, kind, recorded) = (last.number, last.body.kind().to_owned(), last.recorded);
    Ok(VehicleLine { vehicle, entries, kind, recorded, open_orders, on_trial, in_doubt })
}

/// How many orders are open.
fn open_orders(journal: &Journal<'_, GitStore>, index: &EntryIndex) -> Result<usize, JournalError> {
    let mut all = WorkOrders::default();
    for filed in journal.each(index) {
        all.push(&filed?.entry);
    }
    Ok(all.finish().iter().filter(|order| order.closed.is_none()).count())
}

/// How many trials are open, and how many steps are in doubt.
fn traced(
    journal: &Journal<'_, GitStore>,
    index: &EntryIndex,
    definitions: &DefinitionSet,
) -> Result<(usize, usize), Failure> {
    let definitions = journal.definitions(definitions, index)?;
    let history = journal.trace(index, &definitions, None)?;
    let trials = trials_of(journal, index, None)?;
    let on_trial = trials.with(&history).all().filter(|trial| trial.state.is_open()).count();
    Ok((on_trial, history.open_steps().open().len()))
}
