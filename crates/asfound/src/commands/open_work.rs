//! `asfound vehicles --open`

use std::path::Path;

use asfound_core::history::{HistoryError, Proof};
use asfound_core::names::Tag;
use asfound_core::work_order::{LineGroup, OutcomeBuilder};
use asfound_journal::garage::{Garage, RunFile};
use asfound_journal::index::VehicleCache;
use asfound_journal::journal::{Journal, JournalError};
use asfound_journal::store::{GitStore, Store};

use crate::exit::Exit;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::screens::found::Unreadable;
use crate::screens::open_work::{OpenOrder, OpenWork, StatedWork, VehicleOpenWork};
use crate::setup::{DefinitionFiles, Session, orders_of, trials_of};

/// The form in which a line is remembered; to be altered with what it holds, or with how it follows from the journal.
const LINE: &[u8] = b"open-1";

/// Shows what is open over all cars.
pub(super) fn run(session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let tips = garage.store().tips()?;
    let files = DefinitionFiles::read(&garage)?;
    let mut remembered = VehicleCache::open(garage.store().index(), "open-work", files.digest_with(LINE));
    let mut definitions = None;
    let (mut vehicles, mut unreadable) = (Vec::new(), Vec::new());
    let mut progress = Progress::start(session.environment.colour_of_errors || session.environment.interactive);
    for (at, (tag, tip)) in tips.iter().enumerate() {
        progress.tell(session.err, || format!("looked at {at} of {} cars", tips.len()));
        let kept = remembered.get(tag, tip).and_then(|text| serde_json::from_str::<VehicleOpenWork>(text).ok());
        let mut line = if let Some(line) = kept {
            line
        } else {
            let definitions = definitions.get_or_insert_with(|| files.parse());
            let looked_at = match definitions {
                Ok(definitions) => look_at(&Journal::new(garage.store(), tag.clone()), definitions),
                Err(failure) => Err(failure.clone()),
            };
            match looked_at {
                Ok(line) => {
                    if let Ok(text) = serde_json::to_string(&line) {
                        remembered.put(tag.clone(), tip.clone(), text);
                    }
                    line
                }
                Err(failure) => {
                    unreadable.push(Unreadable { vehicle: tag.clone(), message: failure.message });
                    continue;
                }
            }
        };
        line.runs = open_runs(&garage, tag);
        line.forget_recent(session.environment.now);
        vehicles.extend((!line.is_empty()).then_some(line));
    }
    progress.wipe(session.err);
    remembered.keep(|tag| tips.contains_key(tag));
    let all = tips.len();
    let exit = if unreadable.is_empty() { Exit::Done } else { Exit::Damaged };
    session.show(&OpenWork { vehicles, all, unreadable })?;
    Ok(exit)
}

fn look_at(
    journal: &Journal<'_, GitStore>,
    definitions: &asfound_core::definition::DefinitionSet,
) -> Result<VehicleOpenWork, Failure> {
    let index = journal.index()?;
    let definitions = journal.definitions(definitions, &index)?;
    let history = journal.trace(&index, &definitions, None)?;
    let trials = trials_of(journal, &index, None)?;
    let orders = orders_of(journal, &index)?.into_iter().filter(|order| order.closed.is_none()).collect();
    let mut outcomes = OutcomeBuilder::of(orders);
    let mut stated = Vec::new();
    for filed in journal.each(&index) {
        let entry = filed?.entry;
        outcomes.push(&entry).map_err(HistoryError::from).map_err(JournalError::from)?;
        let only_stated = |(field, _): &(&asfound_core::history::Field, &asfound_core::history::Transition)| {
            history.proof(field, entry.number) == Some(Proof::Stated)
        };
        let is_work = entry.body.work().is_some() && !history.never_made(entry.number);
        // What a later entry altered again is nobody's question any more.
        let last = |(field, _): &(&asfound_core::history::Field, &asfound_core::history::Transition)| {
            let steps = history.timeline(field).map(asfound_core::history::Timeline::transitions);
            steps.and_then(<[_]>::last).is_some_and(|step| step.entry == entry.number)
        };
        if is_work && history.transitions_of(entry.number).any(|step| only_stated(&step) && last(&step)) {
            stated.push(StatedWork { entry: entry.number, at: entry.recorded, headline: history.headline(&entry) });
        }
    }
    let orders = outcomes.finish(&history, &definitions).into_iter().map(|(order, outcome)| OpenOrder {
        number: order.number.to_string(),
        since: order.opened_at,
        not_done: outcome.of(LineGroup::NotDone).map(|line| line.what.to_string()).collect(),
        without_authority: outcome.of(LineGroup::WithoutAuthority).map(|line| line.what.to_string()).collect(),
    });
    Ok(VehicleOpenWork {
        tag: journal.tag().clone(),
        orders: orders.collect(),
        runs: Vec::new(),
        in_doubt: history.open_steps().open().map(|step| step.place.to_string()).collect(),
        on_trial: trials.with(&history).all().filter(|trial| trial.state.is_open()).map(|trial| trial.entry).collect(),
        stated,
    })
}

/// The guided runs of a vehicle that were begun and neither filed nor ended, by the names of their plans.
fn open_runs(garage: &Garage, tag: &Tag) -> Vec<String> {
    let folder = garage.path().join("work").join(tag.as_str());
    let Ok(files) = std::fs::read_dir(folder) else { return Vec::new() };
    let is_run = |path: &Path| path.extension().is_some_and(|ending| ending == "events");
    let paths = files.flatten().map(|file| file.path()).filter(|path| is_run(path));
    let open = paths.filter(|path| RunFile::is_open(path).unwrap_or(true));
    let mut names: Vec<String> =
        open.filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned())).collect();
    names.sort();
    names
}
