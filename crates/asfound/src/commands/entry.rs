//! `asfound entry`

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use asfound_core::names::{EntryNumber, Tag};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::new_file::write_new_bytes;
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
        let unwritable = |path: &Path, error: std::io::Error| Failure::usage(format!("{}: {error}", path.display()));
        std::fs::create_dir_all(folder).map_err(|error| unwritable(folder, error))?;
        for (name, content) in &evidence {
            // A journal from elsewhere may name anything.
            if Path::new(name).file_name() != Some(OsStr::new(name.as_str())) {
                return Err(Failure::damaged(format!(
                    "the attached file `{name}` has no name of a file; it is not written"
                )));
            }
            write_new_bytes(&folder.join(name), content).map_err(|failure| failure.hint("name an empty folder"))?;
        }
    }
    if let Some(folder) = &args.evidence_to {
        session.say(&format!("{} written to {}", counted(evidence.len(), "file", "files"), folder.display()));
    }
    session.show(&EntryScreen::new(&known, &filed, &evidence)?)?;
    Ok(Exit::Done)
}
