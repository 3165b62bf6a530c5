//! `asfound entries`

use asfound_core::names::{SettingPath, Tag};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::{settings_of_vehicle, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::entries::{EntriesScreen, LifeScreen};
use crate::setup::{Session, SettingLife, TracedJournal};

/// List a vehicle's entries, or tell the life of one setting.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound entries wren\n  asfound entries wren body.lane_change_flashes")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// A setting, of which to tell the life
    #[arg(add = ArgValueCompleter::new(settings_of_vehicle))]
    pub setting: Option<SettingPath>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.setting {
        None => EntriesScreen::new(&TracedJournal::open(session, &args.tag)?)?.write(session)?,
        Some(path) => {
            let life = SettingLife::open(session, &args.tag, path)?;
            if life.timeline().is_none() {
                let lists = format!("`asfound settings {}` lists what it knows", args.tag);
                let failure = match life.several() {
                    Some(several) => Failure::usage(several).hint(format!("{lists}, and the bytes of its records")),
                    None => {
                        Failure::usage(format!("the journal of `{}` knows nothing of {path}", args.tag)).hint(lists)
                    }
                };
                return Err(failure);
            }
            session.show(&LifeScreen::new(&args.tag, &life))?;
        }
    }
    Ok(Exit::Done)
}
