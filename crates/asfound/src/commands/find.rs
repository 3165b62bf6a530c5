//! `asfound find`

use std::num::NonZero;
use std::str::FromStr;
use std::thread;

use asfound_core::definition::{DefinitionSet, Pattern};
use asfound_core::difference::Content;
use asfound_core::names::{SettingPath, Tag};
use asfound_journal::garage::Garage;
use asfound_journal::index::IndexFolder;
use asfound_journal::journal::Journal;
use asfound_journal::store::{CommitId, Store};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::{one_line, settings_of_vehicle};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::found::{FoundVehicle, FoundVehicles, Unreadable};
use crate::setup::{Session, SettingLife, garage_definitions_of};

/// Find the vehicles that have a setting, or have it at a value: since when, and by whom.
///
/// What counts is what each vehicle has now, as far as its journal knows. Exit code 1 when none has it.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound find body.lane_change_flashes\n  asfound find body.lane_change_flashes=5\n  asfound find body.lock_at_speed=on --software '02*'"
)]
pub struct Args {
    /// A setting, or a setting and its value
    #[arg(value_name = "SETTING[=VALUE]", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub wanted: SearchedSetting,

    /// Only where the module's software is this; `*` stands for any characters, `?` for one
    #[arg(long, value_name = "VERSION")]
    pub software: Option<Pattern>,
}

/// A setting, and perhaps the value it is to have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SearchedSetting {
    /// The setting.
    pub path: SettingPath,
    /// The value, as written.
    pub value: Option<String>,
}

impl FromStr for SearchedSetting {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (path, value) = text.split_once('=').map_or((text, None), |(path, value)| (path, Some(value.trim())));
        if value == Some("") {
            return Err(format!("there is no value after `{path}=`"));
        }
        let path = path.trim().parse().map_err(|error| format!("{error}"))?;
        Ok(Self { path, value: value.map(one_line).transpose()? })
    }
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let tips: Vec<(Tag, CommitId)> = garage.store().tips()?.into_iter().collect();
    let definitions = garage_definitions_of(&garage, &args.wanted.path.module)?;
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    let share = tips.len().div_ceil(threads).max(1);
    let searched = thread::scope(|scope| {
        let searches: Vec<_> = tips
            .chunks(share)
            .map(|some| {
                let (path, definitions) = (garage.path(), &definitions);
                scope.spawn(move || search(path, some, args, definitions))
            })
            .collect();
        searches
            .into_iter()
            .map(|search| search.join().expect("a search does not panic"))
            .collect::<Result<Vec<_>, _>>()
    })?;
    let mut answers: Vec<Answer> = Vec::new();
    for (some, index) in searched {
        answers.extend(some);
        session.indexes.borrow_mut().extend(index);
    }

    let mut screen = FoundVehicles {
        setting: args.wanted.path.clone(),
        value: args.wanted.value.clone(),
        software: args.software.clone(),
        searched: tips.len(),
        vehicles: Vec::new(),
        unreadable: Vec::new(),
    };
    for answer in answers {
        match answer {
            Ok(found) => screen.vehicles.extend(found),
            Err(unreadable) => screen.unreadable.push(unreadable),
        }
    }
    session.show(&screen)?;
    Ok(match (screen.unreadable.is_empty(), screen.vehicles.is_empty()) {
        (false, _) => Exit::Damaged,
        (true, true) => Exit::No,
        (true, false) => Exit::Done,
    })
}

type Answer = Result<Option<FoundVehicle>, Unreadable>;

/// Looks into some journals. One that cannot be read does not keep the others from being found.
fn search(
    garage: &std::path::Path,
    some: &[(Tag, CommitId)],
    args: &Args,
    definitions: &DefinitionSet,
) -> Result<(Vec<Answer>, Option<IndexFolder>), Failure> {
    // A handle on the journals is for one thread.
    let garage = Garage::open(garage)?;
    let look = |(tag, tip): &(Tag, CommitId)| {
        let journal = Journal::new(garage.store(), tag.clone());
        SettingLife::read(&journal, tip, &args.wanted.path, definitions)
            .map(|life| fits(&life, args).then(|| FoundVehicle::new(tag, &life)).flatten())
            .map_err(|failure| Unreadable { vehicle: tag.clone(), message: failure.message })
    };
    Ok((some.iter().map(look).collect(), garage.store().index().cloned()))
}

/// Whether a vehicle has now what is looked for.
fn fits(life: &SettingLife, args: &Args) -> bool {
    let Some(current) = life.timeline().and_then(|timeline| timeline.current()) else { return false };
    let has_value = |text: &String| Content::stated(life.defined(), text).same(current);
    let software = life.history.state().identity(&life.path.module).software;
    args.wanted.value.as_ref().is_none_or(has_value)
        && args.software.as_ref().is_none_or(|pattern| software.is_some_and(|software| pattern.fits(&software)))
}
