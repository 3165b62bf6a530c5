//! `asfound seal`

use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::seal::Checkpoint;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::seal::{CheckpointNote, SealScreen};
use crate::setup::{JournalHandle, Session};

/// Print the seal of a journal, to be kept where the garage cannot reach it.
///
/// `asfound audit TAG --seal SEAL` holds the journal against it later.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound seal wren\n  asfound seal wren --at 12\n  asfound seal wren --checkpoint")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The seal as it was after this entry
    #[arg(long, value_name = "N")]
    pub at: Option<EntryNumber>,

    /// Print it as a checkpoint, the open format of transparency logs
    #[arg(long)]
    pub checkpoint: bool,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let listed = JournalHandle::open(session, &args.tag)?;
    let journal = listed.journal();
    let leaves = journal.leaves(&listed.index, args.at)?;
    let tag = args.tag.clone();
    let Some(checkpoint) = Checkpoint::of_journal(&tag, &leaves) else {
        return Err(Failure::damaged(format!("the journal of `{tag}` has no entries")));
    };
    if args.checkpoint {
        session.show(&CheckpointNote { tag, checkpoint })?;
    } else {
        let last = Some(listed.entry(args.at.unwrap_or_else(|| listed.last()))?.entry);
        session.show(&SealScreen { tag, seal: checkpoint.seal, last, all: listed.index.len() })?;
    }
    Ok(Exit::Done)
}
