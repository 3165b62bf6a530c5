//! `asfound seal`

use std::path::{Path, PathBuf};

use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::seal::{Checkpoint, Extension, KeptSeal, Seal};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::new_file::write_new;
use crate::screens::extension::{ExtensionChecked, SinceSeal};
use crate::screens::seal::{Note, Sealed};
use crate::setup::{Known, Session};

/// Print the seal of a journal, to be kept where the garage cannot reach it.
///
/// With a seal that was kept, show that the journal was only added to since, and write a proof that
/// somebody without the journal can check.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound seal wren\n  asfound seal wren --checkpoint\n  asfound seal wren --since SEAL \
                  --out proof.toml\n  asfound seal --check proof.toml --since SEAL"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags), required_unless_present = "check")]
    pub tag: Option<Tag>,

    /// The seal as it was after this entry
    #[arg(long, value_name = "N")]
    pub at: Option<EntryNumber>,

    /// Print it as a checkpoint, the open format of transparency logs
    #[arg(long, conflicts_with = "since")]
    pub checkpoint: bool,

    /// A seal that was kept: show that the journal was only added to since
    #[arg(long, value_name = "SEAL")]
    pub since: Option<KeptSeal>,

    /// Write the proof of that into a new file
    #[arg(long, value_name = "FILE", requires = "since", conflicts_with = "check")]
    pub out: Option<PathBuf>,

    /// Check such a proof; needs no garage
    #[arg(long, value_name = "FILE", conflicts_with_all = ["tag", "at", "checkpoint"])]
    pub check: Option<PathBuf>,

    /// With --check: the later seal, where it was kept too
    #[arg(long, value_name = "SEAL", requires = "check")]
    pub until: Option<KeptSeal>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match (&args.check, &args.tag) {
        (Some(file), _) => check(file, args, session),
        (None, Some(tag)) => of_journal(tag, args, session),
        (None, None) => Err(Failure::usage("no vehicle is named")),
    }
}

fn of_journal(tag: &Tag, args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = Known::open(session, tag)?;
    let journal = known.journal();
    let sealed = journal.until(&known.entries, args.at)?;
    let leaves = journal.leaves(sealed)?;
    if let Some(kept) = args.since {
        let proof = Extension::prove(&leaves, kept.entries()).filter(|proof| kept.fits(proof.earlier()));
        if let (Some(proof), Some(path)) = (&proof, &args.out) {
            write_new(path, &proof.to_text())?;
        }
        let exit = if proof.is_some() { Exit::Done } else { Exit::No };
        let file = args.out.clone().filter(|_| proof.is_some());
        session.show(&SinceSeal { tag: tag.clone(), kept, now: Seal::over(&leaves), proof, file })?;
        return Ok(exit);
    }
    let Some(checkpoint) = Checkpoint::of_journal(tag, &leaves) else {
        return Err(Failure::damaged(format!("the journal of `{tag}` has no entries")));
    };
    if args.checkpoint {
        session.show(&Note { tag: tag.clone(), checkpoint })?;
    } else {
        let last = sealed.last().map(|filed| filed.entry.clone());
        let all = known.entries.len();
        session.show(&Sealed { tag: tag.clone(), seal: checkpoint.seal, last, all })?;
    }
    Ok(Exit::Done)
}

fn check(path: &Path, args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let text = std::fs::read_to_string(path).map_err(|error| unreadable(path, &error))?;
    let proof = Extension::parse(&text).map_err(|error| Failure::usage(format!("{}: {error}", path.display())))?;
    let findings = proof.check(args.since.as_ref(), args.until.as_ref());
    let exit = if findings.is_empty() { Exit::Done } else { Exit::No };
    let kept = [args.since.is_some(), args.until.is_some()];
    session.show(&ExtensionChecked { file: path.to_owned(), proof, findings, kept })?;
    Ok(exit)
}
