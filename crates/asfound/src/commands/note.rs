//! `asfound note`

use std::path::PathBuf;

use asfound_core::entry::{Body, Reason, ReasonError};
use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::sign::Meaning;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{FileTarget, Filing, file};
use crate::screens::noted::NoteScreen;
use crate::setup::{DefinedJournal, Session};

/// File a note: something worth remembering that alters nothing.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound note wren \"horn sounds hoarse\"\n  asfound note wren \"owner agreed by phone\" --on 4 --attach consent.txt"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The note
    pub text: String,

    /// The entry that the note is about
    #[arg(long, value_name = "N")]
    pub on: Option<EntryNumber>,

    /// Sign it as "released": checked, and let go
    #[arg(long)]
    pub released: bool,

    /// A file to keep with the note
    #[arg(long, value_name = "FILE")]
    pub attach: Vec<PathBuf>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let explained = DefinedJournal::open(session, &args.tag)?;
    if let Some(number) = args.on {
        explained.entry(number)?;
    }
    let text = Reason::try_from(args.text.clone()).map_err(|error| unfit(&args.tag, error))?;
    let mut filing = Filing::new(session, &explained.garage, text)?.attach(&args.attach)?;
    if args.released {
        filing = filing.meaning(Meaning::Released)?;
    }
    // The journal is gone through when the entry is drawn up.
    let onto = FileTarget { journal: explained.journal(), so_far: None, definitions: &explained.definitions };
    let filed = file(onto, &filing, |_| Ok(Body::Note(args.on)))?;
    session.show(&NoteScreen::new(&explained.tag, &filed))?;
    Ok(Exit::Done)
}

/// Why a text is no note: there is no `--why` that could give another.
fn unfit(tag: &Tag, error: ReasonError) -> Failure {
    match error {
        ReasonError::Blank => Failure::usage("a note needs its text")
            .hint(format!("write it behind the tag, as in: asfound note {tag} \"horn sounds hoarse\"")),
        ReasonError::Control(_) => Failure::usage(error),
    }
}
