//! `asfound enrol`

use asfound_core::entry::{Body, PlainReason, Vehicle};
use asfound_core::moment::Precision;
use asfound_core::names::{Tag, Vin};
use asfound_journal::journal::{EntryDraft, FileError, Journal, Signing};
use clap::Args as ClapArgs;

use crate::arguments::one_line;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::enrolled::EnrolScreen;
use crate::setup::{Session, chance, garage_definitions, reason};

/// Start a vehicle's journal.
///
/// The first vehicle also makes the garage. The tag is the vehicle's short name in every other command.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound enrol wren\n  asfound enrol wren --vin 1M8GDM9AXKP042788 --about \"grey hatchback\""
)]
pub struct Args {
    /// The vehicle's short name: a letter, then letters, digits and `-`
    pub tag: Tag,

    /// The vehicle identification number
    #[arg(long)]
    pub vin: Option<Vin>,

    /// A few words on the vehicle
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    pub about: Option<String>,

    /// Why the journal is started
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
}

/// Runs the command.
pub fn run(args: Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let (garage, made) = session.garage_or_new()?;
    let now = session.environment.now;
    let vehicle = Vehicle { tag: args.tag.clone(), vin: args.vin, about: args.about, enrolled: now };
    let draft = EntryDraft {
        recorded: now,
        happened: now,
        precision: Precision::Second,
        author: session.author(&garage)?,
        why: reason(args.why.as_deref(), &PlainReason::Started.to_string())?,
        body: Body::Enrolled(vehicle.clone()),
        evidence: Vec::new(),
        chance: chance()?,
    };
    let definitions = garage_definitions(&garage)?;
    let signer = session.signer(&garage, &draft.author)?;
    let signing = signer.as_deref().map(|signer| Signing { signer, meaning: None });
    let journal = Journal::new(garage.store(), args.tag).signing(signing);
    journal.file(&definitions, |_| Ok(draft.clone())).map_err(|error: FileError<Failure>| Failure::from(error))?;
    session.show(&EnrolScreen { vehicle, garage: garage.path().to_owned(), made })?;
    Ok(Exit::Done)
}
