//! `asfound disclose`

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use asfound_core::names::{EntryNumber, ModuleName, Tag};
use asfound_journal::disclosure::{DiscloseError, Disclosure, ModulePick, Pick, disclose};
use asfound_journal::seal::KeptSeal;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::new_file::write_new;
use crate::screens::disclosure::{Disclosed, DisclosureChecked};
use crate::setup::{Known, Session};

/// Write a few entries into a file, with proof that they belong to the seal, and nothing of the others.
///
/// Of each entry its entry.toml is shown, and the modules that are named, with the definitions that explain them.
/// Everything else of the vehicle stays hidden, and cannot be guessed from the file.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound disclose wren 3 --module body --out change.toml\n  asfound disclose wren 12 \
                  --settings-only --with-vehicle --out for-the-buyer.toml\n  asfound disclose --check change.toml \
                  --seal SEAL"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags), required_unless_present = "check")]
    pub tag: Option<Tag>,

    /// The entries
    #[arg(value_name = "N", required_unless_present = "check")]
    pub entries: Vec<EntryNumber>,

    /// The new file
    #[arg(long, value_name = "FILE", required_unless_present = "check")]
    pub out: Option<PathBuf>,

    /// Show this module; may be given several times
    #[arg(long = "module", value_name = "NAME")]
    pub modules: Vec<ModuleName>,

    /// Show vehicle.toml: tag, VIN, description
    #[arg(long)]
    pub with_vehicle: bool,

    /// Leave out entry.toml, which names author, reason and other modules; without --module, show all modules
    #[arg(long)]
    pub settings_only: bool,

    /// Prove it against the seal as it was after this entry
    #[arg(long, value_name = "N")]
    pub at: Option<EntryNumber>,

    /// Check such a file; needs no garage
    #[arg(long, value_name = "FILE",
          conflicts_with_all = ["tag", "entries", "out", "modules", "with_vehicle", "settings_only", "at"])]
    pub check: Option<PathBuf>,

    /// With --check: the seal that was kept
    #[arg(long, value_name = "SEAL", requires = "check")]
    pub seal: Option<KeptSeal>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match (&args.check, &args.tag, &args.out) {
        (Some(file), ..) => check(file, args.seal, session),
        (None, Some(tag), Some(out)) => write(tag, out, args, session),
        (None, ..) => Err(Failure::usage("a vehicle, entries and `--out FILE` are needed")),
    }
}

fn write(tag: &Tag, out: &Path, args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = Known::open(session, tag)?;
    let journal = known.journal();
    let sealed = journal.until(&known.entries, args.at)?;
    let modules = match args.modules.as_slice() {
        [] if args.settings_only => ModulePick::All,
        [] => ModulePick::None,
        names => ModulePick::Named(names.iter().cloned().collect()),
    };
    let pick = Pick { modules, vehicle: args.with_vehicle, settings_only: args.settings_only };
    let numbers: BTreeSet<EntryNumber> = args.entries.iter().copied().collect();
    let disclosure = disclose(&journal, sealed, &numbers, &pick).map_err(refused)?;
    let text = disclosure.to_text();
    write_new(out, &text)?;
    session.show(&Disclosed { tag: tag.clone(), disclosure, pick, file: out.to_owned(), bytes: text.len() })?;
    Ok(Exit::Done)
}

fn check(path: &Path, kept: Option<KeptSeal>, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let text = std::fs::read_to_string(path).map_err(|error| unreadable(path, &error))?;
    let disclosure =
        Disclosure::parse(&text).map_err(|error| Failure::usage(format!("{}: {error}", path.display())))?;
    let findings = disclosure.check(kept.as_ref());
    let exit = if findings.is_empty() { Exit::Done } else { Exit::No };
    session.show(&DisclosureChecked { file: path.to_owned(), disclosure, kept, findings })?;
    Ok(exit)
}

fn refused(error: DiscloseError) -> Failure {
    match error {
        DiscloseError::Journal(error) => error.into(),
        error => Failure::usage(&error).maybe_hint(error.hint()),
    }
}
