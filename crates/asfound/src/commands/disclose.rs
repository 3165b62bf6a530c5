//! `asfound disclose`

use std::collections::BTreeSet;
use std::path::PathBuf;

use asfound_core::names::{EntryNumber, ModuleName, Tag};
use asfound_journal::disclosure::{DiscloseError, DisclosureRequest, ModuleChoice, disclose};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::new_file::write_new;
use crate::screens::disclosure::DisclosureScreen;
use crate::setup::{Session, TracedJournal};

/// Write a few entries into a file, with proof that they belong to the seal, and nothing of the others.
///
/// Of each entry its entry.toml is shown, and the modules that are named, with the definitions that explain them.
/// Everything else of the vehicle stays hidden, and cannot be guessed from the file. `asfound audit FILE` checks it.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound disclose wren 3 --module body --out change.toml\n  asfound disclose wren 12 \
                  --settings-only --with-vehicle --out for-the-buyer.toml"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The entries
    #[arg(value_name = "N", required = true)]
    pub entries: Vec<EntryNumber>,

    /// The new file
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

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
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, &args.tag)?;
    let journal = known.journal();
    let modules = match args.modules.as_slice() {
        [] if args.settings_only => ModuleChoice::All,
        [] => ModuleChoice::None,
        names => ModuleChoice::Named(names.iter().cloned().collect()),
    };
    let pick = DisclosureRequest { modules, vehicle: args.with_vehicle, settings_only: args.settings_only };
    let numbers: BTreeSet<EntryNumber> = args.entries.iter().copied().collect();
    let disclosure = disclose(&journal, &known.index, args.at, &numbers, &pick).map_err(refused)?;
    // Nothing is handed out that its receiver would find wrong.
    if let Some(first) = disclosure.check(None).first() {
        return Err(Failure::damaged(format!("the disclosure would not stand: {first}"))
            .hint(format!("look at the journal: asfound audit {}", args.tag)));
    }
    let text = disclosure.to_text();
    write_new(&args.out, &text)?;
    session.show(&DisclosureScreen {
        tag: args.tag.clone(),
        disclosure,
        pick,
        file: args.out.clone(),
        bytes: text.len(),
    })?;
    Ok(Exit::Done)
}

fn refused(error: DiscloseError) -> Failure {
    match error {
        DiscloseError::Journal(error) => error.into(),
        error => Failure::usage(&error).maybe_hint(error.hint()),
    }
}
