//! `asfound entry`

use std::path::PathBuf;

use asfound_core::names::{EntryNumber, Tag};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::entry::EntryScreen;
use crate::screens::shared::counted;
use crate::setup::{Session, TracedJournal};

/// Show one entry in full.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound entry wren 4\n  asfound entry wren 4 --evidence-to FOLDER")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The entry
    #[arg(value_name = "N")]
    pub entry: EntryNumber,

    /// Write the attached files into this folder
    #[arg(long, value_name = "FOLDER")]
    pub evidence_to: Option<PathBuf>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, &args.tag)?;
    let filed = known.entry(args.entry)?;
    let evidence = known.journal().evidence(&filed.commit, args.entry)?;
    if let Some(folder) = &args.evidence_to {
        let unwritable =
            |path: &std::path::Path, error: std::io::Error| Failure::usage(format!("{}: {error}", path.display()));
        std::fs::create_dir_all(folder).map_err(|error| unwritable(folder, error))?;
        for (name, content) in &evidence {
            let path = folder.join(name);
            if path.exists() {
                return Err(Failure::usage(format!("{} is there already", path.display())).hint("name an empty folder"));
            }
            std::fs::write(&path, content).map_err(|error| unwritable(&path, error))?;
        }
    }
    if let Some(folder) = &args.evidence_to {
        session.say(&format!("{} written to {}", counted(evidence.len(), "file", "files"), folder.display()));
    }
    session.show(&EntryScreen::new(&known, &filed, &evidence)?)?;
    Ok(Exit::Done)
}
